"""What a correction says of its decision, held to be what was decided: amounts, places, batches, chances."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from springfit.decisions.cut_tables.cutting import cut_table
from springfit.decisions.evidence import Fault
from springfit.decisions.verdict import reasons as why
from springfit.decisions.verdict.settling import Settling
from springfit.reporting.figures.bell_marks import told_batches
from springfit.reporting.pages.back_pages import no_aim
from springfit.reporting.pages.correction_summary import Summary, summarise
from springfit.reporting.wording.reason_wording import reason_words
from tests.helpers.corrections.decisions_shop import horn, ring
from tests.helpers.corrections.reporting_example import example_correction, example_measured

UNBROKEN = "\u00a0"


def told(correction: Any) -> Summary:
    """The summary in mm."""
    return summarise(correction, units="mm")


def test_per_side_is_said_to_be_square_to_the_surface_with_what_a_diameter_shows() -> None:
    correction = example_correction()
    steepest = correction.stations["slope_rad"][~correction.stations["masked"]].max()
    assert f"twice on the tail, {2.0 / np.cos(steepest):.0f} times at the rim" in told(correction).units_line
    correction.stations["slope_rad"] = 0.1
    assert "at the rim" not in told(correction).units_line
    correction.stations["slope_rad"] = 0.5 * np.pi
    assert "many times at the rim" in told(correction).units_line


@pytest.mark.parametrize(("after", "little"), [(0.93, True), (0.94, True), (0.7, False)])
def test_a_cut_that_hardly_helps_says_so_in_the_box(after: float, little: bool) -> None:
    correction = example_correction()
    correction.verdict.chance_out_after = after
    assert ("buys next to nothing" in told(correction).action) == little


def test_the_box_of_a_slide_says_what_moves_and_which_risk_is_left() -> None:
    action = told(example_correction(verdict="slide")).action.replace(UNBROKEN, " ")
    assert "Set the whole bell 0.240 mm nearer the tail than it sits now" in action
    assert "is then 8 %, not 94 %" in action


def test_the_move_that_a_cut_counts_on_stands_in_the_box() -> None:
    correction = example_correction()
    correction.verdict.slide_mm = 0.1
    assert "and set the bell 0.100 mm nearer the rim" in told(correction).action
    correction.verdict.slide_mm = -0.1  # the line was moved: there is nothing more to do
    assert "set the bell" not in told(correction).action


def fault_of(bells: tuple[str, ...]) -> why.ProcessFault:
    """A swelling of these bells where the picture hatches, and a rim too small."""
    return why.ProcessFault(
        Fault(bells, 11, 250.0, 300.0, 0.4), 250.2, 299.7, "leave", why.NothingWouldSettle(-0.35, 410.0, 0.0, 20)
    )


def test_a_fault_names_its_bells_and_its_ends_once() -> None:
    correction = example_correction(verdict="process")
    correction.verdict.reason = fault_of(("B3", "B1", "B5", "B4", "B2"))
    between = correction.stations["z_mm"].between(250.2, 299.7)
    correction.stations.loc[between, "masked"] = True
    summary = told(correction)
    assert "(B1, B2, B3 and 2 more)" in summary.reason
    assert "z\u00a0250.2 to 299.7 is not in the steel" in summary.action
    assert any("z\u00a0250.2 to 299.7" in line for line in summary.limits)
    assert "(B1, B2)" in reason_words(fault_of(("B2", "B1")), "mm")


def test_no_cut_is_said_to_cure_a_bell_too_small() -> None:
    small, large = (reason_words(why.NothingWouldSettle(error, 410.0, 0.0, 20), "mm") for error in (-0.35, 0.35))
    assert "steel cannot be added there; elsewhere no cut is sure enough" in small
    assert "cannot be added" not in large and "elsewhere" not in large


def test_what_is_unsure_of_steel_that_may_be_lacking_is_said() -> None:
    words = reason_words(why.SteelMayBeLacking(-0.14, 293.0, 0.999, 1), "mm")
    assert "by the forecast alone a chance of >99 %" in words and "bells together are not sure enough" in words


def test_no_more_batches_are_ranked_than_the_verdict_asks_for() -> None:
    settling = (Settling("batches", 1.6, batches=2), Settling("batches", 1.0, batches=1))
    correction = example_correction(verdict="wait", settling=settling)
    correction.verdict.more_batches = 1
    assert told(correction).settling == ("1. Spin and measure 1 more batch.",)
    correction.verdict.more_batches = 3
    assert told(correction).settling[0] == (
        "1. Spin and measure 2 more batches: worth about 1.6 times as much as one more batch."
    )


def test_the_batches_held_against_the_steel_are_told_listed_and_drawn_first() -> None:
    measured = example_measured()
    used, other = (measured[measured["used"] == flag] for flag in (True, False))
    others = [other.assign(batch_id=f"C{number:03d}") for number in range(8)]
    rows = pd.concat([used.assign(batch_id="B001"), *others], ignore_index=True)
    assert told_batches(rows, 4) == ["B001", "C005", "C006", "C007"]
    summary = told(example_correction(measured=rows))
    assert {row[0] for row in summary.tables.bells.rows} == {"B001", "C004", "C005", "C006", "C007"}
    assert any("1 batch spun like this (B001; 4 bells); 8 batches spun otherwise" in one for one in summary.limits)


def test_a_mean_of_several_batches_says_that_they_do_not_weigh_alike() -> None:
    correction = example_correction()
    assert "of 1 batch spun like this, 4 bells" in told(correction).numbers[4].detail
    correction.measured["used"] = True
    assert "of the 2 batches used, each weighed by its readings" in told(correction).numbers[4].detail


def test_a_batch_far_out_alone_is_named_beside_the_mean() -> None:
    correction = example_correction()
    assert "alone" not in told(correction).numbers[4].detail
    rows = correction.measured
    row = rows.index[rows["used"]][5]
    rows.loc[row, "measured_error_mm"] = 0.9
    detail = told(correction).numbers[4].detail.replace(UNBROKEN, " ")
    assert f"Batch B007 alone reads +0.900 mm at z {rows['z_mm'][row]:.1f}" in detail


def test_the_largest_measured_is_at_a_station_that_was_read_and_is_judged() -> None:
    correction = example_correction()
    stations = correction.stations
    stations.loc[stations["s_mm"] > correction.measured["s_mm"].max() + 2.0, "bells_error_mm"] = 5.0
    assert "5.000" not in told(correction).numbers[4].value


def test_the_forecast_of_the_last_zone_goes_as_far_as_what_was_read() -> None:
    correction = example_correction()
    rows, case = correction.measured, correction.case
    last = rows["s_mm"] == rows["s_mm"].max()
    end = int(np.searchsorted(case.mandrel.s, rows["s_mm"].max())) - 1
    case.open[end + 1 :] = False
    rows.loc[last, "s_mm"] = case.mandrel.s[end] + 0.9  # just past what is judged
    sheet = told(correction).tables.bells
    assert sheet.rows[-1][sheet.head.index("forecast")].endswith(f"{case.split.error[end]:+.3f}")
    rows.loc[last, "s_mm"] = case.mandrel.s[end] + 1.1
    sheet = told(correction).tables.bells
    assert not sheet.rows[-1][sheet.head.index("forecast")].endswith(f"{case.split.error[end]:+.3f}")


def test_the_parts_of_the_largest_error_are_those_of_its_own_place() -> None:
    correction = example_correction()
    row = int(np.argmin(np.abs(correction.case.mandrel.z - correction.verdict.largest_error_at_mm)))
    correction.stations = correction.stations.drop(index=row)  # the table has rows beside it only
    detail = told(correction).numbers[0].detail.replace(UNBROKEN, " ").lower()
    named = (detail.split(f"{part} ")[1].split()[0] for part in ("steel", "springback", "unexplained"))
    whole = sum(float(word.strip(",.")) for word in named)
    assert whole == pytest.approx(correction.verdict.largest_error_mm, abs=0.002)


def test_what_the_table_takes_is_said_where_it_is_not_what_the_box_says() -> None:
    correction = example_correction()
    number = told(correction).numbers[1]
    assert "The table's sizes are rounded up and take 0.0" in number.detail
    correction.verdict.largest_cut_mm = float(number.detail.split("take ")[1].split(UNBROKEN)[0])
    assert "rounded up" not in told(correction).numbers[1].detail


def test_what_the_size_never_to_pass_is_stands_above_the_table() -> None:
    assert no_aim("do not pass") in told(example_correction()).tables.cut_table.note


def test_a_new_flare_begins_where_it_departs_from_the_steel_of_now() -> None:
    steel = horn()
    grown = 0.005 + ring(steel.s, at=240.0, length=120.0, depth=0.4)
    table = cut_table(steel, -grown, -grown, skive_mm=0.1, whole=True)
    correction = example_correction(verdict="new_flare", cut_table=table)
    summary = told(correction)
    sheet = summary.tables.cut_table
    first = int(sheet.rows[0][0])
    assert 1 < first < len(table) and len(sheet.rows) == len(table) - first + 1
    assert f"Not listed: z\u00a0{table['z_mm'].iloc[0]:.1f} to" in sheet.note.replace("z ", "z\u00a0")
    assert "Cut none off this mandrel" not in summary.one_way and "those of a new flare" in summary.one_way
    for row in sheet.rows[:8]:  # what grows is what the sizes stated say
        stated = dict(zip(sheet.head, row, strict=True))
        half = 0.5 * (float(stated["Ø finish"]) - float(stated["Ø present"]))
        assert float(stated["growth per side"]) == pytest.approx(half, rel=0.06, abs=0.001)


def test_rules_stand_where_a_batch_ends() -> None:
    sheet = told(example_correction()).tables.bells
    names = [row[0] for row in sheet.rows]
    assert sheet.heavy == (names.count("B004"), len(names)) and names.count("B004") != 5


def test_a_depth_to_cut_is_printed_only_where_something_is_cut() -> None:
    assert "depth to cut" in told(example_correction()).tables.facets.head
    assert "depth to cut" not in told(example_correction(verdict="slide")).tables.facets.head


def test_batches_that_scatter_are_no_fault_of_a_place() -> None:
    assert "make them alike first" in told(example_correction(verdict="process")).action
