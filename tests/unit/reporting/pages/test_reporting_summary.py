"""The words of the report: places, amounts, chances, and what it owns not to know."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from springfit.decisions.cut_tables.as_cut import AsCut
from springfit.decisions.cut_tables.facet_table import FACET_COLUMNS
from springfit.flag_runs import runs_of_true
from springfit.learning.coverage import CoverageNote
from springfit.reporting.pages.correction_summary import summarise
from springfit.reporting.wording.cannot_tell import coverage_words
from springfit.reporting.wording.length_wording import amount, both_ways, place
from springfit.reporting.wording.verdict_wording import sentence, unbroken
from springfit.reporting.wording.zones import is_cut, is_masked, stretches
from tests.helpers.corrections.reporting_example import example_correction


def test_inches_are_said_in_thou_and_in_mm_beside():
    assert amount(0.254, "in") == "10.0 thou"
    assert both_ways(-0.254, "in") == "10.0 thou (0.0100 in, 0.254 mm)"
    assert both_ways(0.254, "mm") == "0.254 mm (10.0 thou)"
    assert amount(0.1, "mm", signed=True) == "+0.100 mm"
    assert amount(-1e-9, "mm", signed=True) == "0.000 mm"
    assert amount(float("nan"), "in") == "not known"
    assert place(25.4, "in") == "1.00"


def test_five_numbers_with_place_and_parts():
    correction = example_correction()
    numbers = {number.label: number for number in summarise(correction, units="mm").numbers}
    assert len(numbers) == 5
    verdict, row = correction.verdict, correction.stations.iloc[correction.stations.error_mm.idxmax()]
    assert numbers["Largest error forecast"].value == f"+{verdict.largest_error_mm:.3f} mm"
    assert f"z\u00a0{verdict.largest_error_at_mm:.1f}" in numbers["Largest error forecast"].detail
    parts = verdict.largest_error_mm, row.error_steel_mm + row.error_springback_mm + row.error_unexplained_mm
    assert parts[1] >= parts[0]  # the example's largest error is beside the masked rim
    assert numbers["Deepest cut now"].value == f"{verdict.largest_cut_mm:.3f} mm"
    assert numbers["Risk, next batch"].value == "94\u00a0% → 8\u00a0%"


@pytest.mark.parametrize(
    ("chance", "said"),
    [(0.0, "<1 %"), (0.004, "<1 %"), (0.5, "50 %"), (0.996, ">99 %"), (1.0, ">99 %"), (np.nan, "not known")],
)
def test_no_chance_is_called_certain(chance: float, said: str):
    correction = example_correction()
    correction.verdict.chance_out_after = chance
    risk = summarise(correction, units="mm").numbers[3]
    assert risk.value == unbroken(f"94 % → {said}")


@pytest.mark.parametrize(
    ("verdict", "after", "scatter", "said"),
    [("slide", 0.66, 0.63, "it would be 63\u00a0%: batches scatter, and no steel mends that."),
     ("slide", 0.66, 0.31, "no steel mends that. The rest is how little the mean is known yet."),
     ("recut", 0.66, 0.31, "no steel mends that. The rest is left for later."), ("slide", 0.08, 0.03, "")],
)  # fmt: skip
def test_a_risk_that_stays_says_what_no_steel_mends(verdict: str, after: float, scatter: float, said: str):
    correction = example_correction(verdict=verdict)
    correction.verdict.chance_out_after, correction.verdict.chance_out_scatter = after, scatter
    risk = summarise(correction, units="mm").numbers[3].detail
    assert said in risk and ("scatter" in risk) == bool(said)


def test_the_largest_error_is_looked_up_among_judged_rows():
    correction = example_correction()
    masked = np.flatnonzero(correction.stations.masked)
    first_masked = int(masked[masked > 100][0])  # at the rim
    edge = float(correction.stations.z_mm[first_masked])
    correction.stations.loc[first_masked:, "error_springback_mm"] = 9.0
    correction.verdict.largest_error_at_mm = edge - 1e-3
    assert "springback +9.000 mm" not in summarise(correction, units="mm").numbers[0].detail


def test_a_risk_that_stays_is_said_once():
    correction = example_correction()
    correction.verdict.chance_out_after = correction.verdict.chance_out_before
    assert summarise(correction, units="mm").numbers[3].value == "94\u00a0%"


def test_no_move_is_said_as_none():
    correction = example_correction()
    correction.verdict.slide_mm = 0.0
    assert summarise(correction, units="in").numbers[2].value == "none"


def test_a_process_fault_with_a_cut_elsewhere_does_not_say_do_not_cut():
    correction = example_correction()
    correction.verdict.verdict = "process"
    summary = summarise(correction, units="in")
    assert summary.action.startswith("Put the spinning right first.")
    assert summary.tables.cut_table.rows


def test_what_it_cannot_tell_names_stretches_blanks_and_the_unexplained():
    stations = example_correction().stations.copy()
    stations.loc[100, "error_unexplained_mm"] = -0.2
    limits = "\n".join(summarise(example_correction(stations=stations), units="mm").limits)
    assert "1 batch spun like this (B007; 4 bells); 1 batch spun otherwise (4 bells)" in limits
    assert "past what the recorded bells cover" in limits
    assert "Nothing is judged or cut at z\u00a00.0 to" in limits
    assert "temper, tool nose" in limits and "lubricant" not in limits
    assert f"-0.200\u00a0mm at z\u00a0{stations.z_mm[100]:.1f} is neither steel nor springback" in limits


def test_the_sheet_reads_steep_steps_as_places_and_flat_ones_as_diameters():
    summary = summarise(example_correction(), units="mm")
    column = summary.tables.inspection.head.index("measure")
    for row in summary.tables.inspection.rows:
        assert row[column + 1].startswith("z " if row[column] == "Ø" else "Ø ")
        assert float(row[column + 2]) < float(row[column + 3])
    assert {row[column] for row in summary.tables.inspection.rows} == {"Ø", "z"}


def test_a_cut_too_deep_is_said_with_its_row_and_once():
    z = np.linspace(300.0, 400.0, 101)
    planned = np.full(101, 0.1)
    found = planned + np.where(np.arange(101) == 37, 0.04, 0.0)
    rows = pd.DataFrame(
        {"z_mm": z, "planned_cut_mm": planned, "found_cut_mm": found, "too_deep_mm": found - planned}
    )
    as_cut = AsCut(rows, 0.04, 337.0, -0.04, 0.05, 0.1)
    summary = summarise(example_correction(as_cut=as_cut, notes=(CoverageNote("nearest", ("OTHER",)),)), units="mm")
    assert ("337.000", "0.100", "0.140", "0.040") in summary.tables.as_cut.rows
    assert "0.040 mm per side deeper than planned at z 337.0 mm" in summary.tables.as_cut.note
    assert not any("deeper than planned" in note for note in summary.notes)
    assert "Nearest recorded mandrels: OTHER." in summary.notes
    assert summarise(example_correction(), units="mm").tables.as_cut.rows == ()


def test_no_facets_are_claimed_when_none_were_looked_for():
    unsearched = summarise(example_correction(facets=pd.DataFrame()), units="mm").tables.facets
    searched = summarise(example_correction(facets=pd.DataFrame(columns=list(FACET_COLUMNS))), units="mm").tables.facets
    assert (unsearched.note, unsearched.rows) == ("", ())
    assert searched.note.startswith("No facets were found")


def test_steel_without_a_bell_says_so():
    limits = summarise(example_correction(batches=0), units="mm").limits
    assert limits[0].startswith("No bell of this steel has been measured")


def test_a_reason_is_a_sentence_with_its_units_held():
    assert (
        sentence("taking 2.4 thou off in 3 steps, 64 % left")
        == "Taking 2.4\u00a0thou off in 3 steps, 64\u00a0% left."
    )
    assert sentence("within 0.05 mm.") == "Within 0.05\u00a0mm." and sentence("") == ""


def test_errors_stand_at_judged_stations_only():
    correction = example_correction()
    judged = {f"{z:.3f}" for z in correction.stations.z_mm[~correction.stations.masked]}
    assert {row[0] for row in summarise(correction, units="mm").tables.errors.rows} <= judged


def test_everything_masked_still_makes_a_summary():
    correction = example_correction(verdict="wait")
    stations = correction.stations.assign(masked=True, error_mm=np.nan)
    verdict = SimpleNamespace(
        **(vars(correction.verdict) | {"largest_error_mm": 0.0, "largest_error_at_mm": np.nan})
    )
    summary = summarise(example_correction(verdict="wait", stations=stations), units="mm")
    assert summary.tables.errors.rows == () and summary.tables.errors.note == "No station can be judged."
    bare = example_correction(verdict="wait", stations=stations)
    bare.verdict = verdict
    assert summarise(bare, units="mm").numbers[0].detail == "nowhere to judge"


def test_runs_and_stretches():
    flags = np.array([True, True, False, True])
    assert runs_of_true(flags) == [(0, 1), (3, 3)]
    assert runs_of_true(np.zeros(3, dtype=bool)) == []
    assert stretches(np.array([0.0, 1.0, 2.0, 3.0]), flags, "mm") == "z\u00a00.0 to 1.0 and z\u00a03.0 to 3.0"


def test_masks_in_words_and_cuts_too_small_to_be_one():
    stations = example_correction().stations.iloc[:4].copy()
    stations["masked"] = ["bead", "", None, float("nan")]
    assert is_masked(stations).tolist() == [True, False, False, False]
    stations["cut_now_diameter_mm"] = stations["present_diameter_mm"] - [0.0, 0.0005, 0.1, np.nan]
    assert is_cut(stations).tolist() == [False, False, True, False]


def test_what_is_to_be_known_of_a_facet_stands_above_the_table():
    sheet = summarise(example_correction(), units="in").tables.facets
    assert "Facet 2: stations of the mandrel too sparse to tell a depth: measure every 1/4 in." in sheet.note
    assert "Facet 1:" not in sheet.note and "note" not in sheet.head
    assert dict(zip(sheet.head, sheet.rows[0], strict=True))["depth to cut"] == "0.0033"


@pytest.mark.parametrize(
    ("kind", "names", "said"),
    [
        ("unmeasured", (), "No bell has been measured"),
        ("nearest", ("WREN", "TEAL"), "mandrels: WREN, TEAL."),
        ("never_met", ("alloy", "C22000"), "of alloy C22000."),
        ("outside", ("tool_nose",), "The tool nose lies outside"),
        ("draw_end_blank", (), "The draw end is not filled in"),
        ("not_learned", ("B7",), "The model has not learned what was measured on B7"),
    ],
)
def test_what_a_forecast_rests_on_is_said(kind: str, names: tuple[str, ...], said: str):
    assert said in coverage_words(CoverageNote(kind, names))
