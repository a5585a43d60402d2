"""The mandrel whose predicted bell is the target."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.decisions.need.inverse import bell_error, gap_on, mandrel_for
from springfit.decisions.need.masking import find_masks
from springfit.decisions.need.split import split_error
from springfit.geometry.meridian import Meridian, meridian_from_stations, offset
from springfit.geometry.seating import nearest_point
from tests.helpers.corrections.decisions_shop import RIM_RADIUS, evidence, forecaster, growing, horn, ring
from tests.helpers.corrections.made_meridians import meridian_from_arc

TWO_MICRONS = 0.002
HORN = horn()


def open_rows(mandrel: Meridian, target: Meridian, rim_mm: float) -> np.ndarray:
    return find_masks(mandrel, target, rim_mm=rim_mm).open


@pytest.mark.parametrize("rim_gap", [0.05, 0.5, 1.0])
def test_correct_then_predict_returns_the_target(rim_gap: float) -> None:
    predict = forecaster(growing(rim_gap))
    rows = open_rows(HORN, HORN, predict(HORN).meridian.length)
    inverse = mandrel_for(HORN, HORN, predict, open_rows=rows)
    z, r = predict(inverse.mandrel).bell_point
    arc, left = nearest_point(HORN, z, r)
    judged = (arc > HORN.s[rows][0]) & (arc < HORN.s[rows][-1])
    assert inverse.closed
    assert np.max(np.abs(left[judged])) <= TWO_MICRONS


def test_the_corrected_table_read_back_returns_the_target() -> None:
    """As a maker's own check would: sizes rounded to 0.0001 mm, one a millimetre, then forecast again."""
    predict = forecaster(growing(0.4))
    rows = open_rows(HORN, HORN, predict(HORN).meridian.length)
    line = mandrel_for(HORN, HORN, predict, open_rows=rows).mandrel
    z, diameter = np.round(line.z[::2], 4), np.round(2 * line.r[::2], 4)
    z, r = predict(meridian_from_stations(z, diameter, diameter_error=0.0)).bell_point
    arc, left = nearest_point(HORN, z, r)
    judged = (arc > HORN.s[rows][0] + 1.0) & (arc < HORN.s[rows][-1] - 1.0)
    assert np.max(np.abs(left[judged])) <= TWO_MICRONS


def test_one_step_would_not_do() -> None:
    """Taking off the error once leaves more than promised where the gap follows the shape."""
    predict = forecaster(growing(2.0))
    error = bell_error(HORN, HORN, predict(HORN))
    once = offset(HORN, -np.nan_to_num(error, nan=float(np.nanmax(error))))
    assert np.nanmax(np.abs(bell_error(once, HORN, predict(once))[20:-20])) > TWO_MICRONS


def test_a_facet_of_the_target_stays_a_facet_of_the_mandrel() -> None:
    """A crisp crease wanted in the bell is in the new mandrel too, not rounded over."""
    kink_at, angle = 250.0, 0.03
    slope = HORN.slope + np.where((HORN.s > kink_at) & (HORN.s < kink_at + 6), angle, 0.0)
    target = meridian_from_arc(HORN.s, slope, z0=HORN.z[0], r0=HORN.r[0])
    predict = forecaster(growing(0.3))
    rows = open_rows(HORN, target, predict(HORN).meridian.length)
    inverse = mandrel_for(target, HORN, predict, open_rows=rows)
    near = (inverse.mandrel.s > kink_at - 3) & (inverse.mandrel.s < kink_at + 3)
    turned = np.ptp(inverse.mandrel.slope[near] - np.interp(inverse.mandrel.s[near], HORN.s, HORN.slope))
    assert turned > 0.9 * angle


def test_masked_rows_stay_and_the_others_still_close() -> None:
    predict = forecaster(growing(0.3))
    rows = open_rows(HORN, HORN, predict(HORN).meridian.length) & ~((HORN.s > 200) & (HORN.s < 280))
    inverse = mandrel_for(HORN, HORN, predict, open_rows=rows)
    middle = (HORN.s > 235) & (HORN.s < 245)
    assert np.max(np.abs(inverse.removal_mm[middle])) < 1e-6
    assert np.max(np.abs(inverse.error_mm[rows])) <= TWO_MICRONS
    assert np.nanmax(np.abs(inverse.error_mm[middle])) > 0.01


def test_nothing_is_said_past_the_target_or_the_rim() -> None:
    predict = forecaster(growing(0.3))
    short = Meridian(*(getattr(HORN, name)[:500] for name in ("s", "z", "r", "slope", "curvature")))
    error = bell_error(HORN, short, predict(HORN))
    assert np.isnan(error[510:]).all()
    assert np.isfinite(error[1:490]).all()
    past = HORN.r > RIM_RADIUS + 0.5
    assert np.isnan(gap_on(HORN, predict(HORN))[past]).all()


def test_steel_is_moved_back_where_it_was_cut_too_far() -> None:
    """Removal is negative where the present steel is too small: the caller must see it, to refuse it."""
    steel = -ring(HORN.s, at=200.0, length=60.0, depth=0.1)
    present = offset(HORN, steel)
    predict = forecaster(growing(0.0))
    rows = open_rows(present, HORN, predict(present).meridian.length)
    inverse = mandrel_for(HORN, present, predict, open_rows=rows)
    assert inverse.removal_mm.min() == pytest.approx(-0.1, abs=TWO_MICRONS)


def test_the_error_splits_into_parts_that_add_up() -> None:
    steel = ring(HORN.s, at=200.0, length=60.0, depth=0.1)
    present = offset(HORN, steel)
    predict = forecaster(growing(0.3))
    split = split_error(present, HORN, predict(present), evidence(unexplained_mm=np.full(34, 0.01)))
    known = np.isfinite(split.error)
    assert known.sum() > 500
    whole = (split.steel + split.springback + split.unexplained)[known]
    assert whole == pytest.approx(split.error[known], abs=1e-12)
    assert np.nanmax(split.steel) == pytest.approx(0.1, abs=0.001)
    gap = gap_on(present, predict(present))
    assert split.springback[known] == pytest.approx(gap[known], abs=0.001)
    low, high = split.band(0.9)
    assert np.all((low <= split.error)[known] & (split.error <= high)[known])


def test_a_batchs_own_scatter_does_not_count_against_a_lasting_cut_but_never_vanishes() -> None:
    predict = forecaster(growing(0.3), sd=0.05)
    unknown, few, many = (
        split_error(HORN, HORN, predict(HORN), evidence(batches=n, scatter=b)).lasting_sd[600]
        for n, b in ((0, np.nan), (2, 0.046), (20, 0.046))
    )
    assert many < few < unknown
    assert many >= 0.3 * unknown * 0.99


def test_what_the_forecast_holds_already_is_named_but_not_added_again() -> None:
    predict = forecaster(growing(0.3))
    plain = split_error(HORN, HORN, predict(HORN), evidence())
    held = split_error(
        HORN, HORN, predict(HORN), evidence(unexplained_mm=np.full(34, 0.02), in_forecast=True)
    )
    known = np.isfinite(held.error)
    assert held.error[known] == pytest.approx(plain.error[known])
    assert held.unexplained[known] == pytest.approx(0.02)
    assert held.springback[known] == pytest.approx(plain.springback[known] - 0.02)
    assert not held.beyond.any()
    assert np.all(held.error_sd <= plain.error_sd)
