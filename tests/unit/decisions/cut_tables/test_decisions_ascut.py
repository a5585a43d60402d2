"""A measured revision against its plan: a step cut too deep on purpose is found, weighed and saved."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from springfit.decisions.cut_tables.as_cut import AsCut, compare_as_cut
from springfit.decisions.forecast import Forecast
from springfit.decisions.need.axial import removal_after_move
from springfit.geometry.meridian import Meridian, offset
from springfit.reporting.wording.as_cut_wording import as_cut_words
from tests.helpers.corrections.decisions_shop import ALLOWANCE, forecaster, growing, horn, ring

MICRON = 0.001
HORN = horn()
PLANNED_CUT = ring(HORN.s, at=270.0, length=80.0, depth=0.2)
JUDGED = (HORN.s > 5.0) & (HORN.s < 308.0)


def compared(extra: np.ndarray) -> tuple[AsCut, Meridian, Meridian]:
    planned = offset(HORN, -PLANNED_CUT)
    found = offset(HORN, -PLANNED_CUT - extra)
    target = offset(HORN, -0.1)
    result = compare_as_cut(
        HORN,
        planned,
        found,
        target,
        forecaster(growing(0.1)),
        open_rows=JUDGED,
    )
    return result, planned, found


def test_a_deep_step_is_found_with_its_depth_and_place() -> None:
    result, _, _ = compared(ring(HORN.s, at=280.0, length=20.0, depth=0.06))
    assert result.deepest_mm == pytest.approx(0.06, abs=MICRON)
    assert result.deepest_at_mm == pytest.approx(np.interp(280.0, HORN.s, HORN.z), abs=0.5)
    assert result.bell_change_mm == pytest.approx(-0.06, abs=0.003)
    assert result.is_judged and result.is_too_deep
    assert "0.060 mm per side deeper than planned" in as_cut_words(result, "mm", allowance_mm=ALLOWANCE)[0]


def test_the_salvage_puts_the_planned_line_inside_the_steel_and_is_the_smallest() -> None:
    result, planned, found = compared(ring(HORN.s, at=280.0, length=20.0, depth=0.06))
    assert result.salvage_mm is not None and result.salvage_mm > 0.0
    rows = slice(20, 600)
    assert np.nanmin(removal_after_move(found, planned, result.salvage_mm)[rows]) >= -MICRON
    assert np.nanmin(removal_after_move(found, planned, 0.9 * result.salvage_mm)[rows]) < -MICRON
    assert result.salvage_cut_mm > 0.0
    assert "the target allows that" in as_cut_words(result, "mm", allowance_mm=ALLOWANCE)[1]


def test_a_salvage_past_the_allowance_says_so() -> None:
    result, _, _ = compared(ring(HORN.s, at=280.0, length=20.0, depth=0.06))
    assert "the target allows 0.010 mm" in as_cut_words(result, "mm", allowance_mm=0.01)[1]


def test_a_cut_to_plan_asks_for_nothing() -> None:
    result, _, _ = compared(0.004 * np.sin(HORN.s / 9.0))
    assert result.salvage_mm == 0.0
    assert result.rows.too_deep_mm.abs()[JUDGED].max() < 0.006
    assert as_cut_words(result, "mm", allowance_mm=ALLOWANCE)[0].startswith("The new steel follows its plan")


def test_a_deep_step_on_the_cylinder_cannot_be_saved() -> None:
    flat = Meridian(HORN.s, HORN.s, np.full(HORN.s.size, 10.0), 0 * HORN.s, 0 * HORN.s)
    deep = offset(flat, -ring(HORN.s, at=150.0, length=40.0, depth=0.05))
    result = compare_as_cut(
        flat,
        flat,
        deep,
        flat,
        _straight_bell,
        open_rows=JUDGED,
    )
    assert result.salvage_mm is None
    deep, salvage = as_cut_words(result, "in", allowance_mm=ALLOWANCE)
    assert "2.0 thou per side deeper" in deep and "too near the cylinder" in salvage


def _straight_bell(mandrel: Meridian) -> Forecast:
    """A forecast without a gap for steel that has no rim to trim at."""
    made_up = forecaster(growing(0.0))(HORN)
    zero = np.zeros(mandrel.s.size)
    return replace(made_up, meridian=mandrel, arc=mandrel.s, gap=zero, mean_sd=zero, bell_sd=zero)
