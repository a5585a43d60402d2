"""The ensemble behind the prior of free shares: what is drawn, what is found of it, and what is kept in the package."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from springfit.learning.basis.hand import RIM_AT_TOP
from springfit.learning.basis.laid_state import COLUMNS
from springfit.learning.basis.stress_fields import FIELDS
from springfit.learning.features.batch_features import LABELS
from springfit.learning.regression.layout import Layout
from springfit.learning.regression.prior_sd import Prior, Spreads
from springfit.learning.regression.structures import STRUCTURES
from springfit.learning.regression.summaries import Columns
from springfit.learning.trade import horns, make_shares, ways
from springfit.learning.trade.between_shops import Shown, between_shops
from springfit.learning.trade.laid_shares import LAID_FIELDS, MANDRELS, WAYS, drawn_shops
from springfit.learning.trade.trade_shares import kept_shares, trade_shares

Floats = NDArray[np.float64]


def planted(random: np.random.Generator, shops: int) -> tuple[list[list[Shown]], Floats, Floats, Floats]:
    """Bells of shops whose coefficients are drawn, of two fields; each bell shows one kind of both and one of the
    second alone."""
    mean, between = np.array([0.3, -0.1]), np.array([[0.04, 0.018], [0.018, 0.0225]])
    within = np.array([[0.01, 0.0], [0.0, 0.02]])

    def bell(shop: Floats) -> Shown:
        k = random.multivariate_normal(shop, within)
        both, second = random.normal(size=(12, 2)), np.column_stack((np.zeros(12), random.normal(size=12)))
        return Shown(
            ((both, both @ k + 0.05 * random.normal(size=12)), (second, second @ k + 0.1 * random.normal(size=12)))
        )

    drawn = [random.multivariate_normal(mean, between) for _ in range(shops)]
    return [[bell(shop) for _ in range(6)] for shop in drawn], mean, between, within


def test_what_shops_were_drawn_from_is_found() -> None:
    shops, mean, between, within = planted(np.random.default_rng(3), 400)
    found = between_shops(shops, np.diag([0.04, 0.02]))
    # of 400 shops a variance is known to 7 %, of 2400 bells to 3 %
    assert found.mean == pytest.approx(mean, abs=3 * np.sqrt(0.05 / 400))
    assert found.between == pytest.approx(between, rel=0.25, abs=0.005)
    assert found.within == pytest.approx(within, rel=0.2, abs=0.002)


def test_what_no_bell_shows_stays_as_the_smooth_shops_have_it() -> None:
    shops, *_ = planted(np.random.default_rng(4), 30)
    blind = [
        [Shown(tuple((np.column_stack((f, np.zeros(len(f)))), y) for f, y in bell.kinds)) for bell in shop]
        for shop in shops
    ]
    found = between_shops(blind, np.diag([0.04, 0.02, 0.09]))
    assert found.mean[2] == pytest.approx(0.0, abs=1e-6)
    assert 0.5 * 0.09 < found.between[2, 2] < 0.09  # a reading of yield of each shop narrows it a little


def test_horns_and_ways_lie_within_the_range_of_the_trade() -> None:
    random = np.random.default_rng(8)
    for _ in range(20):
        steel = horns.drawn_horn(random)
        assert horns.RIMS[0] <= steel.r[-1] <= horns.LARGE_RIMS[1]
        assert horns.TAILS[0] <= steel.r[0] <= horns.TAILS[1]
        assert horns.FLATTEST < steel.slope[-1] < horns.STEEPEST
        way = ways.drawn_way(random, steel)
        assert way.draw_end_mm is not None and 0.0 < way.draw_end_mm < steel.z[-1]
        hand = ways.drawn_hand(random)
        assert hand.rim >= RIM_AT_TOP and hand.start >= 0.0


def test_a_drawn_shop_is_laid_and_drawn_alike_by_the_same_seed() -> None:
    (first,), (again,) = drawn_shops(1, seed=5), drawn_shops(1, seed=5)
    assert 0 < len(first) <= MANDRELS * WAYS
    for one, other in zip(first, again, strict=True):
        for (fields, share), (_, same) in zip(one.kinds, other.kinds, strict=True):
            assert fields.shape == (share.size, LAID_FIELDS.size) and np.array_equal(share, same)


def test_the_file_of_the_package_says_how_it_was_made() -> None:
    told = str(kept_shares()["of"])
    assert told.startswith(f"{make_shares.SHOPS} shops drawn by seed {make_shares.SEED}, {MANDRELS} horns and {WAYS}")
    assert f"{COLUMNS.layers} layers, elements of {COLUMNS.element_walls} and" in told
    assert kept_shares()["fields"] == [FIELDS[place].name for place in LAID_FIELDS]


def test_free_structures_begin_from_it() -> None:
    kept = trade_shares()
    assert np.array_equal(kept.covariance, kept.covariance.T) and np.linalg.eigvalsh(kept.covariance)[0] > 0.0
    layout = Layout(Columns((), ()), {}, (), tuple(() for _ in LABELS))
    for name in ("free", "varied"):
        prior = Prior.of(layout, STRUCTURES[name])
        precision = prior.precision(Spreads(prior.structure.start))
        covariance = np.linalg.inv(precision)[np.ix_(kept.places, kept.places)]
        assert prior.mean[kept.places] == pytest.approx(kept.mean)
        assert covariance == pytest.approx(kept.covariance, abs=1e-9)


@pytest.mark.benchmark
def test_the_file_is_what_its_script_makes() -> None:
    made = make_shares.made_shares()
    for name in ("mean", "covariance", "within_shops", "left_of_hoop_and_moment"):
        assert np.array(made[name]) == pytest.approx(np.array(kept_shares()[name]), abs=2e-3)
