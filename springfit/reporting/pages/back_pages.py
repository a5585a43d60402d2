"""The tables behind page one: the cut, its inspection, the last cut, the error along the bell, the facets."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from springfit.decisions.cut_tables.as_cut import DEEP_MM
from springfit.flag_runs import runs_of_true
from springfit.geometry.facets.shapes import GAUGE_LENGTH
from springfit.reporting.pages.exported_tables import SHOP_DECIMALS, cells, for_the_hand
from springfit.reporting.pages.printed_tables import Sheet, in_small_unit, printed
from springfit.reporting.wording.as_cut_wording import as_cut_words
from springfit.reporting.wording.column_labels import lengths_note
from springfit.reporting.wording.facet_wording import facets_with_notes
from springfit.reporting.wording.length_wording import Units, amount, place, small_unit
from springfit.reporting.wording.zones import is_masked

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction

__all__ = [
    "as_cut_sheet", "cut_sheet", "error_sheet", "facet_sheet", "inspection_sheet", "no_aim", "within_skive",
    "without_bare_growth",
]  # fmt: skip

_MOST_ERRORS = 10  # rows that fit beside the rest
_LEAST_CUT_MM = 0.0005  # per side: below this a planned cut is rounding
_PARTS = ("error_steel_mm", "error_springback_mm", "error_unexplained_mm")
_ALL_INSPECTED, _MOST_INSPECTED = 24, 10  # rows with room to write: of a page, and beside the rest of a long report
_MOST_NAMED = 6  # stretches of steps in one sentence: more are counted, not read
_BLANK = "________"
_FACETS_IN_FILE_ONLY = (
    "station_spacing_mm",
    "note",
)  # the notes stand above the table, where there is room for them
_INSPECTION = ("inspect_low_mm", "inspect_high_mm", "found_mm")


def cut_sheet(correction: Correction, *, units: Units) -> Sheet:
    """The cut table without its inspection columns, which stand on a sheet of their own."""
    new, left_out = correction.verdict.verdict == "new_flare", ""
    frame = for_the_hand(correction.cut_table, units)
    nothing_to_turn = within_skive(frame)
    frame = frame.drop(columns=list(_INSPECTION), errors="ignore")
    stop = no_aim("do not pass")
    how = f"Turn each step, then skive to the finish Ø. {stop}"
    if new and len(frame):
        frame, left_out = without_bare_growth(frame, correction.cut_table, units)
        frame = frame.assign(growth_mm=-frame["removal_mm"]).drop(columns=["removal_mm"])
        new_line = "A new flare, left as full as caution asks. Growth is how far, square to the surface, it stands out "
        how = f"{new_line}beyond the steel of now, - where it lies inside it. {how}"
    if not new and nothing_to_turn:
        frame = frame.drop(columns=["diameter_mm"])
        how = f"The cut is within the skive stock: nothing to turn, skive to the finish Ø. {stop}"
    return printed(
        frame,
        "Sizes of a new flare" if new else "Cut table",
        note=f"{lengths_note(units)} {how}{left_out}",
        units=units,
        empty="No steel is to be cut, so there is no cut table.",
    )


def without_bare_growth(rounded: pd.DataFrame, table: pd.DataFrame, units: Units) -> tuple[pd.DataFrame, str]:
    """The rows of a new flare from the first that departs from the steel of now by more than steel is turned true to,
    and what is said of the tail before it; all rows where none does. table: the same rows, not rounded."""
    departs = np.flatnonzero(table["removal_mm"].abs() > DEEP_MM)
    if not departs.size or not departs[0]:
        return rounded, ""
    first, last = (place(float(table["z_mm"].iloc[row]), units) for row in (0, departs[0] - 1))
    said = f" Not listed: z {first} to {last}, within {amount(DEEP_MM, units)} of the steel of now. Turn that as it is "
    return rounded.iloc[departs[0] :].reset_index(drop=True), f"{said}now, or by cut_table.csv, which has every row."


def no_aim(limit: str) -> str:
    """Where to stop, and what the size is that goes by the name `limit`."""
    return f"Stop there. Ø {limit} is no size to aim at: below it the flare is spoilt, its bells too small."


def within_skive(table: pd.DataFrame) -> bool:
    """Whether no step of a table for the hand stands under the present steel, so that the skive alone takes the cut."""
    return bool(len(table)) and bool(np.all(table["diameter_mm"] >= table["present_diameter_mm"] - _LEAST_CUT_MM))


def error_sheet(correction: Correction, *, units: Units) -> Sheet:
    """The error of the bell and its parts at a few even stations that are judged."""
    stations = correction.stations[~is_masked(correction.stations)]
    columns = ["z_mm", "present_diameter_mm", "error_mm", "error_lo_mm", "error_hi_mm", *_PARTS]
    shown = in_small_unit(stations[columns].iloc[_spread(len(stations), _MOST_ERRORS)], columns[2:], units)
    note = f"{lengths_note(units)} Errors in {small_unit(units)} per side, + bell too large; "
    note += "nine in ten lie from low to high."
    return printed(shown, "Error along the bell", note=note, units=units, empty="No station can be judged.")


def facet_sheet(correction: Correction, *, units: Units) -> Sheet:
    """The facets; a frame without columns says that none were looked for, and nothing is claimed."""
    facets = facets_with_notes(correction.facets, units)
    empty = "No facets were found on this mandrel or its target." if len(facets.columns) else ""
    notes = zip(facets["facet"], facets["note"], strict=True) if "note" in facets.columns else ()
    said = [f"Facet {number}: {words}." for number, words in notes if words]
    note = (
        f"{lengths_note(units)} Depths are per side: of a dish or a crown its own, of a join or a ridge under a "
        f"straightedge of {place(GAUGE_LENGTH, units)}. Bell keeps: depth on the bell over depth on the "
        "mandrel, 1 = all of it."
    )
    unasked = () if correction.cuts_steel or len(correction.cut_table) else ("depth_to_cut_mm",)
    shown = facets.drop(columns=[*_FACETS_IN_FILE_ONLY, *unasked], errors="ignore")
    return printed(shown, "Facets", note=" ".join((note, *said)), units=units, empty=empty)


def inspection_sheet(correction: Correction, *, units: Units) -> Sheet:
    """The steps to measure after the cut, with blanks to fill in, and which steps are not among them.

    A flat row is read as a diameter at its z, a steep one as the z at its diameter.
    """
    title, table = "Inspection of the steel", for_the_hand(correction.cut_table, units)
    if not len(table) or not set(_INSPECTION) <= set(table.columns):
        return Sheet(title, "Nothing is cut, so there is nothing to inspect.", (), ())
    told = table["inspect_high_mm"].notna()
    most = _ALL_INSPECTED if len(table) <= _ALL_INSPECTED else _MOST_INSPECTED
    chosen = table[told].iloc[_spread(int(told.sum()), most)]
    names, rows = cells(chosen, units, decimals=SHOP_DECIMALS)
    untold = _steps_not_told(told.to_numpy())
    if not rows:
        return Sheet(title, f"{untold} There is nothing to inspect.", (), ())
    thinned = ""
    if len(rows) < told.sum():
        thinned = f"{len(rows)} of {told.sum()} steps, evenly spread; the others are in cut_table.csv. "
    right = f"Right is from the lower to the higher size. {thinned}{untold}".strip()
    note = f"{lengths_note(units)} {right}   Date ________   By ________"
    head = ("step", "measure", "at", "from", "to", "found", "right?")
    return Sheet(
        title, note, head, tuple(_inspected(dict(zip(names, row, strict=True)), units) for row in rows)
    )


def _steps_not_told(told: npt.NDArray[np.bool_]) -> str:
    """Which steps no gauge tells from uncut steel, steps being numbered from 1; empty where there are none."""
    if told.all():
        return ""
    runs = [f"{first + 1}" if first == last else f"{first + 1} to {last + 1}" for first, last in runs_of_true(~told)]
    step, takes, are = ("Step", "takes", "is") if np.sum(~told) == 1 else ("Steps", "take", "are")
    which = f"{step} {', '.join(runs)}" if len(runs) <= _MOST_NAMED else f"{np.sum(~told)} steps"
    return f"{which} {takes} off too little to be told from uncut steel by measuring, and {are} left out."


def as_cut_sheet(correction: Correction, *, units: Units) -> Sheet:
    """The newest steel against its plan, at a few even rows of the cut and the deepest; else no rows."""
    title, as_cut = "The last cut against its plan", correction.as_cut
    if as_cut is None:
        return Sheet(title, "", (), ())
    rows = as_cut.rows[as_cut.rows["planned_cut_mm"] > _LEAST_CUT_MM]
    even = rows.iloc[_spread(len(rows), _MOST_ERRORS)]
    deepest = as_cut.rows[as_cut.rows["z_mm"] == as_cut.deepest_at_mm]
    shown = pd.concat([even, deepest]).drop_duplicates("z_mm").sort_values("z_mm")
    said = " ".join(as_cut_words(as_cut, units, allowance_mm=correction.job.slide_allowance_mm))
    return printed(shown, title, note=f"{said} {lengths_note(units)}", units=units, empty=said)


def _inspected(step: Mapping[str, str], units: Units) -> tuple[str, ...]:
    """One row of the inspection sheet, from one step of the cut table."""
    z, diameter = step[f"z_{units}"], step[f"finish_diameter_{units}"]
    steep = step["read"] == "z"
    measure, at = ("z", f"Ø {diameter}") if steep else ("Ø", f"z {z}")
    low, high = step[f"inspect_low_{units}"], step[f"inspect_high_{units}"]
    return step["step"], measure, at, low, high, _BLANK, _BLANK


def _spread(count: int, most: int) -> list[int]:
    """At most `most` of `count` rows, evenly spread, both ends kept."""
    return sorted({round(row) for row in np.linspace(0, max(count - 1, 0), min(count, most))})
