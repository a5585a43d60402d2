"""Tables as they are printed: a head, rows of text, a note; the inspection sheet with its blanks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from springfit.reporting.amounts import Units
from springfit.reporting.heads import all_in, head_of
from springfit.reporting.tables import SHOP_DECIMALS, cells
from springfit.reporting.zones import is_masked

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction

__all__ = ["Sheet", "cut_sheet", "error_sheet", "inspection_sheet", "printed"]

_MOST_ERRORS = 10
_PARTS = ("error_steel_mm", "error_springback_mm", "error_unexplained_mm")
_MOST_INSPECTED = 12  # rows that leave room to write by hand
_BLANK = "________"
_INSPECTION = ("inspect_low_mm", "inspect_high_mm", "found_mm")


@dataclass(frozen=True)
class Sheet:
    """A printed table: `head` and `rows` of text of equal width, and a `note` above it."""

    title: str
    note: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def numeric(self) -> tuple[bool, ...]:
        """Whether a column holds numbers or blanks to write them in, and so stands to the right."""
        return tuple(all(_is_number(cell) for cell in column) for column in zip(*self.rows, strict=True))


def printed(frame: pd.DataFrame, title: str, *, note: str, units: Units, empty: str) -> Sheet:
    """A frame in mm as a sheet in `units`, digit for digit as in its CSV file; `empty`: said without rows."""
    names, rows = cells(frame, units, decimals=SHOP_DECIMALS)
    shown = [[_for_eyes(cell) for cell in row] for row in rows]
    kept = [index for index in range(len(names)) if any(row[index] for row in shown)]
    head = tuple(head_of(names[index]) for index in kept)
    body = tuple(tuple(row[index] for index in kept) for row in shown)
    return Sheet(title, note if rows else empty, head if rows else (), body)


def cut_sheet(correction: Correction, *, units: Units) -> Sheet:
    """The cut table without its inspection columns, which stand on a sheet of their own."""
    frame = correction.cut_table.drop(columns=list(_INSPECTION), errors="ignore")
    new = correction.verdict.verdict == "new_flare"
    note = f"{all_in(units)} Turn each step, then skive to the finish Ø. Never below do not pass."
    return printed(
        frame,
        "Sizes of a new flare" if new else "Cut table",
        note=note,
        units=units,
        empty="No steel is to be cut, so there is no cut table.",
    )


def error_sheet(correction: Correction, *, units: Units) -> Sheet:
    """The error of the bell and its parts at a few even stations that are judged."""
    stations = correction.stations[~is_masked(correction.stations)]
    columns = ["z_mm", "present_diameter_mm", "error_mm", "error_lo_mm", "error_hi_mm", *_PARTS]
    shown = stations[columns].iloc[_spread(len(stations), _MOST_ERRORS)]
    note = f"{all_in(units)} Errors are per side, + bell too large; low to high holds nine in ten."
    return printed(shown, "Error along the bell", note=note, units=units, empty="No station can be judged.")


def inspection_sheet(correction: Correction, *, units: Units) -> Sheet:
    """Steps to measure after the cut, from a few even rows of the cut table, with blanks to fill in.

    A flat row is read as a diameter at its z, a steep one as the z at its diameter.
    """
    title, table = "Inspection of the steel", correction.cut_table
    if not len(table) or not set(_INSPECTION) <= set(table.columns):
        return Sheet(title, "Nothing is cut, so there is nothing to inspect.", (), ())
    chosen = table.iloc[_spread(len(table), _MOST_INSPECTED)]
    names, rows = cells(chosen, units, decimals=SHOP_DECIMALS)
    note = f"{all_in(units)} Right is from the lower to the higher size.   Date ________   By ________"
    head = ("step", "measure", "at", "from", "to", "found", "right?")
    return Sheet(
        title, note, head, tuple(_inspected(dict(zip(names, row, strict=True)), units) for row in rows)
    )


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


def _for_eyes(cell: str) -> str:
    """A cell for paper: yes in words, no left blank, a diameter by its sign."""
    return {"true": "yes", "false": "", "diameter": "Ø"}.get(cell, cell)


def _is_number(cell: str) -> bool:
    """Whether a cell is a number, nothing, or a blank to write one in."""
    return not cell.strip("_") or cell.lstrip("+-").replace(".", "", 1).isdigit()
