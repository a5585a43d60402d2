"""One sheet as it was typed: its cells as text under their headers, each row with the line it stands on."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import chain, islice
from typing import Literal

import numpy as np

from springfit.findings import Finding
from springfit.records.columns import Table
from springfit.records.sheets.days import DayOrder
from springfit.records.sheets.layout.header_words import header_names
from springfit.records.sheets.layout.invisible import visible
from springfit.records.sheets.layout.record_rows import note_passed_over, record_rows
from springfit.records.sheets.layout.table_rows import (
    HEADER_WITHIN,
    PassedOver,
    Row,
    header_place,
    units_given,
)
from springfit.records.sheets.layout.told_rows import (
    Faults,
    drop_again,
    header_is_sound,
    say_faults,
    say_header,
    say_passed_over,
    say_units_against,
)

__all__ = ["LARGEST_SHEET", "Decimal", "Sheet", "text_sheet"]

LARGEST_SHEET = 128 * 2**20  # bytes; a million readings typed as CSV are about 70 MB

Decimal = Literal[".", ",", ".,"]  # the decimal mark of a sheet; ".,": either, but one in each column


@dataclass(frozen=True)
class Sheet:
    """Cells as stripped text: `cells[header]` is an object array, `rows` the line of each (header = 1).

    `positions[header]` counts the cells before the column in a row as it stands in the file; `faulty`: (line, header)
    of cells that stand blank here for a fault that was told.
    """

    file: str
    header: tuple[str, ...] = ()
    cells: dict[str, np.ndarray] = field(default_factory=dict)
    rows: np.ndarray = field(default_factory=lambda: np.array([], dtype=np.int64))
    decimal: Decimal = "."
    header_row: int = 1
    days: DayOrder = ""
    positions: dict[str, int] = field(default_factory=dict)
    faulty: frozenset[tuple[int, str]] = frozenset()

    def __len__(self) -> int:
        return len(self.rows)

    def rows_where(self, keep: np.ndarray) -> Sheet:
        """The sheet with only the rows that are to be kept, each still on its line."""
        cells = {name: column[keep] for name, column in self.cells.items()}
        return replace(self, cells=cells, rows=self.rows[keep])


def text_sheet(
    file: str,
    records: Iterator[Row],
    findings: list[Finding],
    *,
    table: Table,
    decimal: Decimal = ".",
    faults: Faults | None = None,
    ragged: bool = False,
) -> Sheet | None:
    """The sheet in `records` of (line, cells): the rows under the header that names most columns of `table`.

    `faults` of cells become findings where they are read; `ragged`: what stands beside the table is a remark.
    """
    faults = {} if faults is None else faults
    stream = _with_text(records, {line for line, _ in faults})
    rows = list(islice(stream, HEADER_WITHIN))
    if not rows:
        findings.append(Finding("error", file, 1, None, "the sheet is empty", "a row of column names"))
        return None
    below = _header_of(file, rows, stream, table, findings)
    if below is None:
        deque(stream, maxlen=0)  # what is wrong with the rows below is told all the same
        return None
    header, passed = below.header, below.passed
    found = record_rows(chain(below.rows, stream), header, table, lambda: {line for line, _ in faults}, passed)
    beside = _say_too_long(file, found.too_long, len(header), findings, ragged=ragged)
    faulty = say_faults(file, found.lines, header, faults, findings, table)
    say_passed_over(file, passed, header, findings)
    unnamed = (n for n, name in enumerate(header) if not name and n not in below.dropped)
    if beside or any(any(found.columns[n]) for n in unnamed):
        what = "cells stand in a column without a name; they are not read"
        findings.append(Finding("doubt", file, below.line, None, what, "a name above every column"))
    cells_of = {name: column for name, column in zip(header, found.columns, strict=True) if name}
    positions = {name: position for position, name in enumerate(header) if name}
    return Sheet(
        file, tuple(cells_of), cells_of, found.lines, decimal, below.line, positions=positions, faulty=faulty
    )


@dataclass(frozen=True)
class _Header:
    """The `header` on its `line`, places of columns `dropped`, the `rows` read that stand below it, what was passed."""

    line: int
    header: list[str]
    dropped: set[int]
    rows: list[Row]
    passed: list[PassedOver]


def _header_of(
    file: str, rows: list[Row], stream: Iterator[Row], table: Table, findings: list[Finding]
) -> _Header | None:
    """The header among the first rows, its units from the row below it where they stand there; None for an odd one."""
    place = header_place(rows, table)
    line, typed = rows[place]
    header = header_names(typed, table)
    passed: list[PassedOver] = []
    for above, cells in rows[:place]:
        note_passed_over(passed, "title", above, cells)
    rows = rows[place + 1 :] or list(islice(stream, 1))
    if rows and (known := units_given(rows[0][1], header, table)) is not None:
        say_units_against(file, rows[0], header, table, findings)
        header = known
        passed.append(PassedOver("row of units", [rows.pop(0)[0]]))
    say_header(file, (line, typed), header, table, findings)
    dropped = drop_again(file, line, header, table, findings)
    sound = header_is_sound(file, line, header, findings)
    return _Header(line, header, dropped, rows, passed) if sound else None


class _Visible(dict[str, str]):
    """What is seen of a cell, each worked out and kept once."""

    def __missing__(self, cell: str) -> str:
        self[cell] = seen = visible(cell)
        return seen


def _with_text(records: Iterator[Row], faulty: set[int]) -> Iterator[Row]:
    """The rows with anything in them, cells stripped."""
    seen = _Visible().__getitem__
    for line, record in records:
        cells = list(map(seen, record))
        if any(cells) or line in faulty:
            yield line, cells


def _say_too_long(file: str, rows: list[Row], width: int, findings: list[Finding], *, ragged: bool) -> bool:
    """Whether anything stands beside the table, where that is a remark; an error for each such row where it is none."""
    for line, cells in () if ragged else rows:
        what = f"the row has {len(cells)} cells, the header {width}"
        remedy = "a decimal comma or an unquoted comma splits a cell in two: write a point, or quote it"
        findings.append(Finding("error", file, line, None, what, "no more cells than the header", remedy))
    return ragged and bool(rows)
