"""Moves along the axis, against shapes that were moved by a known amount; and chances against counting."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from springfit.decisions.need.axial import explaining_slide, move_to_remove, removal_after_move, sparing_slide
from springfit.decisions.verdict.chances import (
    batches_to_settle,
    chance_below,
    chance_out,
    least_scatter,
    sd_after_batches,
)
from springfit.geometry.meridian import offset
from springfit.geometry.seating import nearest_point, slid
from tests.helpers.corrections.decisions_shop import horn, ring

MICRON = 0.001
HORN = horn()
SINE = np.sin(HORN.slope)
EVERY = np.ones(HORN.s.size, dtype=bool)


@pytest.mark.parametrize("slide", [-0.4, -0.1, 0.2, 0.45])
def test_a_bell_that_only_slid_is_explained(slide: float) -> None:
    """The error of the horn slid by -a is explained by sliding it a toward the rim."""
    moved = slid(HORN, -slide)
    _, error = nearest_point(HORN, moved.z, moved.r)
    known = np.isfinite(error)
    found, left = explaining_slide(error[known], HORN.slope[known], 0.5)
    assert found == pytest.approx(slide, abs=0.005)
    assert left < 0.005


def test_a_slide_stops_at_the_allowance() -> None:
    found, left = explaining_slide(0.4 * SINE, HORN.slope, 0.1)
    assert found == pytest.approx(0.1, abs=1e-4)
    assert left == pytest.approx(0.3 * SINE.max(), abs=1e-4)
    assert explaining_slide(0.4 * SINE, HORN.slope, 0.0)[0] == 0.0


def test_the_sparing_slide_takes_what_is_common_and_leaves_the_ring() -> None:
    error = 0.3 * SINE + ring(HORN.s, at=270.0, length=30.0, depth=0.1)
    slide = sparing_slide(error, HORN.slope, HORN.s, allowance=0.5)
    assert slide == pytest.approx(0.3, abs=0.01)
    assert np.min(error - slide * SINE) > -0.01


def test_the_sparing_slide_never_makes_steel_lacking_to_spare_a_cut() -> None:
    error = 0.3 * SINE * (HORN.s < 285.0)
    slide = sparing_slide(error, HORN.slope, HORN.s, allowance=0.5)
    assert slide == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize("depth", [0.05, 0.15, 0.4])
def test_the_smallest_move_makes_every_row_a_removal_and_less_does_not(depth: float) -> None:
    present = offset(HORN, -ring(HORN.s, at=290.0, length=38.0, depth=depth))
    rows = HORN.s > 250.0
    move = move_to_remove(present, HORN, rows, floor=0.0)
    assert move is not None
    enough = removal_after_move(present, HORN, move)[rows]
    short = removal_after_move(present, HORN, 0.95 * move)[rows]
    assert np.nanmin(enough) >= -MICRON
    assert np.nanmin(short) < -MICRON


def test_no_move_helps_on_the_cylinder() -> None:
    assert HORN.slope[HORN.s < 50.0].max() < 0.05
    flat = HORN.slope < 0.02
    assert not flat.any() or move_to_remove(offset(HORN, -0.1), HORN, EVERY, floor=0.0) is None


def test_no_move_is_asked_where_nothing_is_lacking() -> None:
    assert move_to_remove(offset(HORN, 0.1), HORN, EVERY, floor=0.0) == 0.0


def test_chance_out_counts_both_sides_at_the_worst_row() -> None:
    random = np.random.default_rng(11)
    error, sd = np.array([0.0, 0.03, -0.02]), np.array([0.02, 0.02, 0.04])
    draws = error + sd * random.standard_normal((200000, 3))
    counted = np.mean(np.abs(draws) > 0.05, axis=0).max()
    assert chance_out(error, sd, 0.05, 1e6) == pytest.approx(counted, abs=0.005)
    assert chance_below(error, sd, -0.05, 1e6) == pytest.approx(norm.cdf(-0.03 / 0.04), abs=1e-4)


def test_the_lower_bound_of_a_scatter_holds_nine_times_in_ten() -> None:
    random = np.random.default_rng(5)
    scatters = np.std(random.standard_normal((20000, 5)), axis=1, ddof=1)
    bounds = np.array([least_scatter(float(s), 4.0) for s in scatters])
    assert np.mean(bounds <= 1.0) == pytest.approx(0.9, abs=0.01)
    assert np.isnan(least_scatter(float("nan"), 3.0)) and np.isnan(least_scatter(0.1, 0.0))


def test_more_batches_narrow_the_band_as_the_mean_of_many() -> None:
    sd = np.array([0.1])
    assert sd_after_batches(sd, float("nan"), 3)[0] == pytest.approx(0.05)
    assert sd_after_batches(sd, 0.2, 4)[0] == pytest.approx(0.1 / np.sqrt(2.0))
    assert batches_to_settle(sd, float("nan"), lambda v, _: bool(v[0] <= 0.0501)) == 3
    assert batches_to_settle(sd, float("nan"), lambda v, _: False) is None
