"""The cut table for a hand, and its card: round sizes, marked stations, nothing above the steel of now."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from springfit.decisions.cut_tables.cutting import cut_table, joint_of
from springfit.geometry.meridian import offset
from springfit.reporting import write_correction
from springfit.reporting.pages.correction_summary import summarise
from springfit.reporting.pages.exported_tables import for_the_hand
from springfit.reporting.wording.reason_wording import reason_words
from tests.helpers.corrections.decisions_shop import horn, ring
from tests.helpers.corrections.reporting_example import REASONS, example_correction

HORN = horn()
CUT = ring(HORN.s, at=240.0, length=120.0, depth=0.2)
MARKS = np.arange(0.0, 300.0, 6.35)
HALF_A_TENTH = 0.0013  # mm: half of 0.0001 in


def test_the_makers_own_stations_are_rows_wherever_the_cut_meets_them() -> None:
    table = cut_table(HORN, CUT, CUT, skive_mm=0.1, marked_mm=MARKS)
    cut = HORN.z[CUT > 0.001]
    met = MARKS[(cut.min() + 1.0 < MARKS) & (cut.max() - 1.0 > MARKS)]
    assert met.size > 10
    for mark in met:
        assert np.min(np.abs(table["z_mm"] - mark)) < 0.01


def test_no_row_of_nothing_and_no_turn_above_the_present_steel() -> None:
    table = cut_table(HORN, CUT, CUT, skive_mm=0.3, marked_mm=MARKS)
    assert (table["removal_mm"] >= 0.0005).all()
    assert (table["diameter_mm"] <= table["present_diameter_mm"] + 1e-9).all()


@pytest.mark.parametrize(("units", "printed"), [("in", 0.00254), ("mm", 0.001)])
def test_no_row_is_printed_that_takes_nothing_off(units: str, printed: float) -> None:
    """A shallow cut that runs out over 60 mm: sizes rounded up stand on the present steel at its ends."""
    shallow = ring(HORN.s, at=240.0, length=120.0, depth=0.03)
    table = cut_table(HORN, shallow, shallow, skive_mm=0.1, marked_mm=MARKS)
    told = for_the_hand(table, units)  # type: ignore[arg-type]
    assert 3 < len(told) < len(table)
    assert (told["present_diameter_mm"] - told["finish_diameter_mm"] > 0.5 * printed).all()
    assert (told["removal_mm"].div(printed).round() >= 1).all()
    assert told["step"].tolist() == list(range(1, len(told) + 1))


def test_a_place_keeps_its_piece_after_a_cut() -> None:
    joint = joint_of(HORN)
    before = cut_table(HORN, np.full(HORN.s.size, 0.1), np.full(HORN.s.size, 0.1), skive_mm=0.1, joint_mm=joint)
    steel = offset(HORN, -ring(HORN.s, at=150.0, length=60.0, depth=0.3))
    after = cut_table(steel, np.full(HORN.s.size, 0.1), np.full(HORN.s.size, 0.1), skive_mm=0.1, joint_mm=joint)
    for table in (before, after):
        assert ((table["piece"] == "tail") == (table["z_mm"] <= joint)).all()


@pytest.mark.parametrize("units, rough, fine, size", [("in", 0.001, 0.0005, 25.4), ("mm", 0.02, 0.01, 1.0)])
def test_sizes_are_round_and_never_rounded_into_the_steel(units: str, rough: float, fine: float, size: float) -> None:
    table = cut_table(HORN, CUT, CUT, skive_mm=0.1, marked_mm=MARKS)
    rounded = for_the_hand(table, units)  # type: ignore[arg-type]
    for column, step in (("diameter_mm", rough), ("finish_diameter_mm", fine)):
        free = rounded[column] < rounded["present_diameter_mm"] - 1e-9
        places = rounded[column][free] / size / step
        assert places.to_numpy() == pytest.approx(np.round(places), abs=1e-6)
        asked = np.interp(rounded["z_mm"], table["z_mm"], table[column])  # rows of nothing are left out
        assert (rounded[column] >= asked - HALF_A_TENTH).all()
        assert (rounded[column] <= rounded["present_diameter_mm"] + 1e-9).all()


@pytest.mark.parametrize("units", ["in", "mm"])
def test_what_comes_off_is_what_the_sizes_stated_say(units: str) -> None:
    """Square to the surface: half the difference of the diameters times the cosine of the slope, for a thin cut."""
    told = for_the_hand(cut_table(HORN, CUT, CUT, skive_mm=0.1, marked_mm=MARKS), units)  # type: ignore[arg-type]
    half = (told["present_diameter_mm"] - told["finish_diameter_mm"]) / 2
    slope = np.interp(told["z_mm"], HORN.z, HORN.slope)
    gentle = slope < 0.5  # where a radius at a place is still as good as a distance
    assert gentle.sum() > 5
    assert told["removal_mm"][gentle].to_numpy() == pytest.approx((half * np.cos(slope))[gentle].to_numpy(), rel=0.05)


@pytest.mark.parametrize(("units", "told"), [("in", 0.0127), ("mm", 0.01)])
@pytest.mark.parametrize(("at", "depth"), [(240.0, 0.03), (300.0, 0.025)])  # a throat read as diameters; a rim as z
def test_no_inspection_range_holds_uncut_steel(units: str, told: float, at: float, depth: float) -> None:
    shallow = ring(HORN.s, at=at, length=60.0, depth=depth)
    table = for_the_hand(cut_table(HORN, shallow, shallow, skive_mm=0.1, marked_mm=MARKS), units)  # type: ignore[arg-type]
    listed = table[table["inspect_high_mm"].notna()]
    assert 0 < len(listed) < len(table)  # some steps take off less than a gauge tells
    by_size, by_z = (listed[listed["read"] == name] for name in ("diameter", "z"))
    assert len(by_z if at > 280.0 else by_size)
    # a reading of the steel as it was, but for half of what a gauge tells
    assert (by_size["inspect_high_mm"] <= by_size["present_diameter_mm"] - 0.5 * told).all()
    uncut = HORN.z[0] + np.interp(by_z["finish_diameter_mm"], 2.0 * HORN.r, HORN.z - HORN.z[0])
    assert (by_z["inspect_low_mm"] >= uncut + 0.5 * told).all()
    assert (listed["inspect_high_mm"] - listed["inspect_low_mm"] > 0.99 * told).all()


@pytest.mark.parametrize("units", ["in", "mm"])
def test_every_step_is_inspected_or_said_not_to_be(units: str) -> None:
    shallow = ring(HORN.s, at=240.0, length=120.0, depth=0.03)
    table = cut_table(HORN, shallow, shallow, skive_mm=0.1, marked_mm=MARKS)
    done = example_correction(cut_table=table)
    summary = summarise(done, units=units)  # type: ignore[arg-type]
    sheet, steps = summary.tables.inspection, len(summary.tables.cut_table.rows)
    listed = [int(row[0]) for row in sheet.rows]
    assert 12 < steps <= 24 and 0 < len(listed) < steps
    left_out = sheet.note[sheet.note.index("Step") : sheet.note.index(" take off too little")]
    named = [int(word) for word in re.findall(r"\d+", left_out)]
    assert named[0] == 1 and named[-1] == steps and not set(named) & set(listed)


@pytest.mark.parametrize("verdict, units", [("recut", "in"), ("recut", "mm"), ("wait", "in"), ("leave", "mm")])
def test_the_card_is_one_page(example_report: Callable[[str, str], Path], verdict: str, units: str) -> None:
    read = PdfReader(io.BytesIO((example_report(verdict, units) / "card.pdf").read_bytes()))
    pages = [page.extract_text() for page in read.pages]
    assert len(pages) == 1
    assert ("\u2610" in pages[0]) == (verdict == "recut")


def test_a_new_flare_is_told_as_growth(tmp_path: Path) -> None:
    table = cut_table(HORN, -CUT, -CUT, skive_mm=0.1, whole=True)
    write_correction(example_correction(verdict="new_flare", cut_table=table), tmp_path, units="mm")
    page = (tmp_path / "correction.html").read_text()
    assert "growth per side" in page and "removal per side" not in page


def test_a_cut_does_not_answer_an_error_at_a_place_where_nothing_is_cut() -> None:
    answers = replace(REASONS["recut"], answered=True)
    beside = replace(answers, answered=False)
    assert "answers a largest error of 0.200 mm" in reason_words(answers, "mm")
    words = reason_words(beside, "mm")
    assert "answers" not in words and "largest error of 0.200 mm, at z 405.0 mm" in words
