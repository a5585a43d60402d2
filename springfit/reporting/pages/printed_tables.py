"""Tables as they are printed: a head, rows of text, a note; and the numbers that page one says large."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from springfit.reporting.pages.exported_tables import SHOP_DECIMALS, cells
from springfit.reporting.wording.column_labels import column_label
from springfit.reporting.wording.length_wording import Units, bare_amount

__all__ = ["Number", "Sheet", "in_small_unit", "printed"]

_EVERY = 5  # rows between heavier rules: as many as an eye tells without counting


@dataclass(frozen=True)
class Number:
    """One of the numbers of page one: what it is, the number, and what belongs to it."""

    label: str
    value: str
    detail: str


@dataclass(frozen=True)
class Sheet:
    """A printed table: `head` and `rows` of text of equal width, and a `note` above it. ruled: numbers, from 1, of the
    rows with a heavier rule below, where groups of rows end; every fifth unless stated, to keep the eye in its row."""

    title: str
    note: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    ruled: tuple[int, ...] | None = None

    @cached_property  # a page asks for it at every row
    def heavy(self) -> tuple[int, ...]:
        """The rows with a heavier rule below."""
        return tuple(range(_EVERY, len(self.rows) + 1, _EVERY)) if self.ruled is None else self.ruled

    @cached_property  # a page asks for it at every cell
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


def in_small_unit(frame: pd.DataFrame, columns: Sequence[str], units: Units) -> pd.DataFrame:
    """The frame with small amounts [mm] as signed digits in thou or mm, as the sentences of page one have them."""
    said = frame.copy()
    for column in columns:
        values = frame[column].to_numpy(float)
        said[column] = ["" if np.isnan(value) else bare_amount(value, units, signed=True) for value in values]
    return said.rename(columns={column: column.removesuffix("_mm") for column in columns})


def _for_eyes(cell: str) -> str:
    """A cell for paper: yes in words, no left blank, a diameter by its sign."""
    return {"true": "yes", "false": "", "diameter": "Ø"}.get(cell, cell)


def _is_number(cell: str) -> bool:
    """Whether a cell is a number, nothing, or a blank to write one in."""
    return not cell.strip("_") or cell.lstrip("+-").replace(".", "", 1).isdigit()
