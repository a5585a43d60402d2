"""Tables as they are printed: a head, rows of text, a note; the inspection sheet with its blanks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from springfit.lengths import from_mm
from springfit.reporting.amounts import Units, size
from springfit.reporting.tables import SHOP_DECIMALS, cells
from springfit.reporting.wording import head_of
from springfit.reporting.zones import is_cut, is_masked

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction

__all__ = ["Sheet", "inspection_sheet", "printed"]

_MOST_INSPECTED = 14  # rows that leave room to write by hand
_BLANK = "______"
_OVER_MM = 0.025  # unequal inspection tolerance on the diameter: so much over, nothing under


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
    kept = [index for index, name in enumerate(names) if any(row[index] for row in rows)]
    head = tuple(head_of(names[index]) for index in kept)
    body = tuple(tuple(_for_eyes(row[index]) for index in kept) for row in rows)
    return Sheet(title, note if rows else empty, head if rows else (), body)


def inspection_sheet(correction: Correction, *, units: Units) -> Sheet:
    """Stations to measure after the cut: the size wanted, its unequal tolerance, blanks to fill in."""
    stations = correction.stations
    cut = is_cut(stations)
    title = "Inspection of the steel"
    if not cut.any():
        return Sheet(title, "Nothing is cut, so there is nothing to inspect.", (), ())
    rows = _spread(np.flatnonzero(cut & ~is_masked(stations)), _MOST_INSPECTED)
    over = f"{from_mm(_OVER_MM, units):.3f}"
    head = ("z", "Ø wanted", f"+{over} / -0 up to", "Ø do not pass", "Ø measured", "difference")
    body = tuple(_inspected(stations.iloc[row], units) for row in rows)
    note = f"Diameters, in {units}. Over by {over} is good; under is not.   Date ________   By ________"
    return Sheet(title, note, head, body)


def _inspected(station: pd.Series[float], units: Units) -> tuple[str, ...]:
    """One row of the inspection sheet."""
    wanted = float(station["cut_now_diameter_mm"])
    sizes = (station["z_mm"], wanted, wanted + _OVER_MM, station["do_not_pass_diameter_mm"])
    return (*(size(float(value), units) for value in sizes), _BLANK, _BLANK)


def _spread(rows: np.ndarray, most: int) -> list[int]:
    """At most `most` of the rows, evenly spread, both ends kept."""
    if rows.size <= most:
        return [int(row) for row in rows]
    return [int(rows[index]) for index in np.unique(np.linspace(0, rows.size - 1, most).round().astype(int))]


def _for_eyes(cell: str) -> str:
    """A cell for paper: yes in words, no left blank."""
    return {"true": "yes", "false": ""}.get(cell, cell)


def _is_number(cell: str) -> bool:
    """Whether a cell is a number, nothing, or a blank to write one in."""
    return not cell.strip("_") or cell.lstrip("+-").replace(".", "", 1).isdigit()
