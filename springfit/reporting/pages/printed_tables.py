"""Tables as they are printed: a head, rows of text, a note; and the numbers that page one says large."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import pandas as pd

from springfit.reporting.pages.exported_tables import SHOP_DECIMALS, cells
from springfit.reporting.wording.column_labels import column_label
from springfit.reporting.wording.length_wording import Units

__all__ = ["Number", "Sheet", "printed"]


@dataclass(frozen=True)
class Number:
    """One of the numbers of page one: what it is, the number, and what belongs to it."""

    label: str
    value: str
    detail: str


@dataclass(frozen=True)
class Sheet:
    """A printed table: `head` and `rows` of text of equal width, and a `note` above it."""

    title: str
    note: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    @cached_property  # a page asks once a cell
    def numeric(self) -> tuple[bool, ...]:
        """Whether a column holds numbers or blanks to write them in, and so stands to the right."""
        return tuple(all(_is_number(cell) for cell in column) for column in zip(*self.rows, strict=True))


def printed(frame: pd.DataFrame, title: str, *, note: str, units: Units, empty: str) -> Sheet:
    """A frame in mm as a sheet in `units`, digit for digit as in its CSV file; `empty`: said without rows."""
    names, rows = cells(frame, units, decimals=SHOP_DECIMALS)
    shown = [[_for_eyes(cell) for cell in row] for row in rows]
    kept = [index for index in range(len(names)) if any(row[index] for row in shown)]
    head = tuple(column_label(names[index]) for index in kept)
    body = tuple(tuple(row[index] for index in kept) for row in shown)
    return Sheet(title, note if rows else empty, head if rows else (), body)


def _for_eyes(cell: str) -> str:
    """A cell for paper: yes in words, no left blank, a diameter by its sign."""
    return {"true": "yes", "false": "", "diameter": "Ø"}.get(cell, cell)


def _is_number(cell: str) -> bool:
    """Whether a cell is a number, nothing, or a blank to write one in."""
    return not cell.strip("_") or cell.lstrip("+-").replace(".", "", 1).isdigit()
