"""What a common line is said to be known to: what walls and buffing leave open is counted in."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import cKDTree

from springfit.reporting.wording.survey_wording import limits_of_survey
from springfit.survey.consensus import Consensus, consensus_of
from springfit.survey.differences import Spread, spread_of
from springfit.survey.family_survey import survey_family
from springfit.survey.lining_up import OFFSET_PRIOR, UNKNOWN_WALL
from springfit.survey.specimens import specimens_of
from tests.helpers.originals.facet_lines import FloatArray
from tests.helpers.originals.family_book import Sheets, family_book, original_sheets
from tests.helpers.originals.original_families import Family, drawn_family

WALLS_OFF = (0.06, -0.06, 0.03, -0.03, 0.0)  # [mm] walls read wrong, none on the whole
NORMAL_90 = 1.645  # standard deviations each way of a normal 90 % band
FROM_RIM = 8.0  # [mm] where a bead may be rolled


def _drawn(folder: Path, sheets: Sheets) -> tuple[Consensus, Spread]:
    consensus = consensus_of(specimens_of(family_book(folder / "book", sheets), "LARK")[0])
    return consensus, spread_of(consensus, np.arange(2.0, consensus.line.length - FROM_RIM, 2.0))


def _walls_off(family: Family, sign: float) -> Sheets:
    off = sign * np.array(WALLS_OFF)
    return original_sheets(
        [replace(one, wall=one.wall + more) for one, more in zip(family.originals, off, strict=True)]
    )


def test_walls_that_disagree_leave_the_line_open_by_what_they_disagree(tmp_path: Path) -> None:
    """Either way round, so that what the bells themselves were buffed does not count for or against."""
    family = drawn_family(0, faults=False)
    _, right = _drawn(tmp_path / "right", original_sheets(family.originals))
    both = [_drawn(tmp_path / str(sign), _walls_off(family, sign))[1] for sign in (1.0, -1.0)]
    of_the_mean = np.std(WALLS_OFF) / np.sqrt(len(WALLS_OFF))  # over n: what was expected counts as one bell more
    error = np.sqrt(np.mean([np.median(one.error**2) for one in both]))
    assert error > of_the_mean > 1.3 * np.median(right.error)
    assert all(np.median(one.shape_error) < 1.1 * np.median(right.shape_error) for one in both)


def test_one_original_is_known_no_better_than_it_was_buffed(tmp_path: Path) -> None:
    _, spread = _drawn(tmp_path, original_sheets(drawn_family(0, count=1, faults=False).originals))
    assert np.all(spread.error > OFFSET_PRIOR)


def test_a_wall_that_nobody_stated_says_little_of_how_far_the_others_lie(tmp_path: Path) -> None:
    """Its bell comes out as far off as the usual wall is from its own: not further off than that was expected."""
    sheets = original_sheets(drawn_family(3, faults=False).originals)
    _, stated = _drawn(tmp_path / "stated", sheets)
    heads = [row[:] for row in sheets["specimens.csv"]]
    heads[1][3] = ""
    _, unstated = _drawn(tmp_path / "unstated", {**sheets, "specimens.csv": heads})
    assert np.median(unstated.error) < np.hypot(np.median(stated.error), UNKNOWN_WALL / 5)


@pytest.mark.parametrize("count", [2, 3, 5])
def test_the_truth_lies_as_often_within_the_band_as_is_stated(tmp_path: Path, count: int) -> None:
    """At nine places of ten, and no band is so wide that it could not fail; six families of each size."""
    off, error = np.zeros(0), np.zeros(0)
    for seed in range(110, 116):
        family = drawn_family(seed, facets=0, count=count, faults=False)
        consensus, spread = _drawn(tmp_path / str(seed), original_sheets(family.originals))
        off, error = np.append(off, _off(family, consensus, spread.s)), np.append(error, spread.error)
    assert 0.84 < np.mean(np.abs(off) < NORMAL_90 * error) < 0.995
    assert np.sqrt(np.mean(error**2)) < 2 * np.sqrt(np.mean(off**2))


def _off(family: Family, consensus: Consensus, s: FloatArray) -> FloatArray:
    """Normal distances [mm] from the truth at arcs s, after the one slide that no survey can know."""
    truth, points = family.truth, consensus.line.at(s)
    tree, slide, off = cKDTree(np.column_stack((truth.z, truth.r))), 0.0, np.zeros(s.size)
    for _ in range(8):
        near = tree.query(np.column_stack((points.z + slide, points.r)))[1]
        sine, cosine = np.sin(truth.slope[near]), np.cos(truth.slope[near])
        off = -(points.z + slide - truth.z[near]) * sine + (points.r - truth.r[near]) * cosine
        slide += float(np.sum(off * sine) / np.sum(sine**2))
    return off


def test_the_page_says_that_buffing_and_walls_are_counted_in(tmp_path: Path) -> None:
    family = drawn_family(0, facets=0, count=2, faults=False)
    told = survey_family(family_book(tmp_path / "book", original_sheets(family.originals)), "LARK")
    assert any("known to" in line and "walls" in line for line in limits_of_survey(told, "in"))
