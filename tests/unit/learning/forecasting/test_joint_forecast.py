"""Two bells forecast together: what both share cancels, and their difference is what the single forecasts say."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.batch_basis import batch_basis
from springfit.learning.basis.laid_state import laid_states
from springfit.learning.compared_bells import compare_bells
from springfit.learning.data.mandrel_steel import steel_meridian
from springfit.learning.experience import batch_facts
from springfit.learning.forecasting.joint_forecast import GapDifference, rows_between
from springfit.learning.forecasting.unknowns import Unknowns, difference_of
from springfit.learning.model import SpringModel
from springfit.learning.regression.link import OWN, Link
from springfit.learning.regression.structures import STRUCTURES
from springfit.learning.regression.summaries import remainder_columns
from springfit.learning.versions.model_file import FORMAT
from springfit.learning.versions.store import ModelStore
from springfit.records.conditions import Conditions
from tests.helpers.programs.kept_model import DATA, NAMED, small_book

BOOK = small_book()
DRAWS = 1500
NEAR = 0.002  # of a posterior standard deviation: so near the mean the link is straight
OF_THE_DRAWS = 0.08  # four standard errors of a standard deviation of so many draws, 1 / sqrt(2 n) each
LEAST_MM = 1e-4  # of a standard deviation: below a tenth of a micrometre nothing is compared


@pytest.fixture(scope="module")
def model() -> SpringModel:
    return ModelStore(DATA / f"{NAMED}{FORMAT}").load()


@pytest.fixture(scope="module")
def steel() -> Meridian:
    return steel_meridian(BOOK, "OAK", 1)


@pytest.fixture(scope="module")
def usual() -> Conditions:
    return replace(BOOK.conditions("B3"), draw_end_mm=340.0)  # so far that little is laid


def compared(model: SpringModel, steel: Meridian, first: Conditions, second: Conditions) -> GapDifference:
    return compare_bells(model, model.asked(steel, first), model.asked(steel, second))


def test_a_row_does_not_differ_from_itself(model: SpringModel, steel: Meridian, usual: Conditions) -> None:
    for how in (usual, replace(usual, draw_end_mm=None), replace(usual, lot="X")):
        told = compared(model, steel, how, how)
        assert not told.gap.any() and not told.sd.any()


@pytest.mark.parametrize(
    "change",
    [{"passes": 5, "anneal": "none"}, {"wall_mm": 0.55}, {"spinner": "nobody"}, {"draw_end_mm": None},
     {"lot": "X", "back_passes": 2}],
)  # fmt: skip
def test_the_difference_is_that_of_the_single_forecasts_and_its_band_narrower(
    model: SpringModel, steel: Meridian, usual: Conditions, change: dict[str, object]
) -> None:
    other = replace(usual, **change)  # type: ignore[arg-type]
    told = compared(model, steel, usual, other)
    one, two = model.gap(steel, usual), model.gap(steel, other)
    np.testing.assert_allclose(told.gap, two.gap - one.gap, atol=1e-12)
    assert told.sd.max() > 0.0 and told.freedom == one.freedom
    assert np.all(told.sd <= one.mean_sd + two.mean_sd + 1e-12)
    assert told.sd[-1] < 0.9 * (one.mean_sd + two.mean_sd)[-1]


def test_turned_about_it_is_the_same_difference(model: SpringModel, steel: Meridian, usual: Conditions) -> None:
    other = replace(usual, anneal="none", passes=5)
    there, back = compared(model, steel, usual, other), compared(model, steel, other, usual)
    np.testing.assert_allclose(there.gap, -back.gap, atol=1e-12)
    np.testing.assert_allclose(there.sd, back.sd, atol=1e-9)


def test_the_joint_covariance_is_that_of_drawn_shops(model: SpringModel, steel: Meridian, usual: Conditions) -> None:
    """Shops drawn a little about the posterior mean of each structure, both bells of each worked out by the exact link,
    not by its derivatives; the standard deviation of the difference over the draws against that of the columns."""
    random = np.random.default_rng(12)
    hows = (usual, replace(usual, passes=5, anneal="none"))
    laid = laid_states([(steel, how) for how in hows], model.hand)
    bases = [batch_basis(steel, how, state) for how, state in zip(hows, laid, strict=True)]
    facts = [batch_facts("OAK", how) for how in hows]
    columns = [np.hstack((b.normal, remainder_columns(b.arc, b.slope, steel.length))) for b in bases]
    size, used = model.layout.size, columns[0].shape[1]

    def gap(theta: np.ndarray, link: Link, bell: int) -> np.ndarray:
        return columns[bell] @ model.layout.linearised_at(facts[bell], theta, np.zeros(OWN), link)[0][:used]

    for structure in model.structures:
        link = STRUCTURES[structure.name].link
        covariance = NEAR**2 * structure.covariance
        thetas = random.multivariate_normal(structure.mean, covariance, DRAWS, method="eigh")
        differences = np.array([gap(theta, link, 1) - gap(theta, link, 0) for theta in thetas])
        shop = []
        for column, of in zip(columns, facts, strict=True):
            unknown = structure.of_batch(model.layout, of)[2]
            shop.append(Unknowns(unknown.names[:size], column @ unknown.moves[:used, :size]))
        expected, drawn = np.sqrt(difference_of(*shop).variance), differences.std(axis=0) / NEAR
        seen = expected > LEAST_MM
        assert seen.any()
        worst = float(np.max(np.abs(drawn[seen] / expected[seen] - 1.0)))
        assert worst < OF_THE_DRAWS, (structure.name, worst)


def test_another_sheet_is_another_batch_and_the_same_sheet_is_one(
    model: SpringModel, steel: Meridian, usual: Conditions
) -> None:
    """A spinner that makes no difference to what is known: with the same lot what the batch has of its own cancels,
    with another lot, met as little, two batches' worth of it stays."""
    same = compared(model, steel, replace(usual, lot="X", spinner="A"), replace(usual, lot="X", spinner="B"))
    other = compared(model, steel, replace(usual, lot="X", spinner="A"), replace(usual, lot="Y", spinner="B"))
    flare = same.arc > 0.6 * same.arc[-1]
    assert np.all(other.sd[flare] > 1.3 * same.sd[flare])


def test_a_blank_in_both_is_the_same_whatever_it_was(model: SpringModel, steel: Meridian, usual: Conditions) -> None:
    more = replace(usual, passes=(usual.passes or 2) + 1)
    both = compared(model, steel, replace(usual, tool_nose_mm=None), replace(more, tool_nose_mm=None))
    one = compared(model, steel, replace(usual, tool_nose_mm=10.0), replace(more, tool_nose_mm=None))
    flare = both.arc > 0.6 * both.arc[-1]
    assert np.all(both.sd[flare] < one.sd[flare])


def test_rows_between_stations_read_straight_lines_and_stations_themselves() -> None:
    arc = np.array([0.0, 1.0, 3.0, 7.0])
    np.testing.assert_array_equal(rows_between(arc, arc), np.eye(4))
    np.testing.assert_allclose(rows_between(arc, np.array([0.5, 4.0])) @ (2.0 * arc + 1.0), [2.0, 9.0])


def test_a_moved_flare_stands_rim_against_rim(model: SpringModel, steel: Meridian, usual: Conditions) -> None:
    longer = steel_meridian(BOOK, "OAK", 1)
    moved = Meridian(longer.s * 1.01, longer.z * 1.01, longer.r, longer.slope, longer.curvature)
    one, two = model.asked(steel, usual), model.asked(moved, usual)
    told = compare_bells(model, one, two)
    apart = model.gap(moved, usual).gap[[0, -1]] - model.gap(steel, usual).gap[[0, -1]]
    np.testing.assert_allclose(told.gap[[0, -1]], apart, atol=1e-12)
