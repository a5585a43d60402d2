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
from springfit.records.sheets.layout.record_rows import quoted, record_rows
from springfit.records.sheets.layout.table_rows import (
    HEADER_WITHIN,
    PassedOver,
    Row,
    header_place,
    units_against,
    units_given,
)

__all__ = ["LARGEST_SHEET", "Decimal", "Fault", "Faults", "Sheet", "text_sheet"]

LARGEST_SHEET = 128 * 2**20  # bytes; a million readings typed as CSV are about 70 MB
_NO_NAME = "cells stand in a column without a name; they are not read"
_FEWEST_QUOTED = 3  # letters: less says nothing

Decimal = Literal[".", ",", ".,"]  # the decimal mark of a sheet; ".,": either, but one in each column


@dataclass(frozen=True)
class Fault:
    """What is wrong with one cell as it stands in the file, whatever it may mean; in the columns `but_in` it is not."""

    what: str
    expected: str
    remedy: str
    but_in: tuple[str, ...] = ()


Faults = dict[tuple[int, int], Fault]  # by line and position in the row


@dataclass(frozen=True)
class Sheet:
    """Cells as stripped text: `cells[header]` is an object array, `rows` the line of each (header = 1).

    `positions[header]` counts the cells before the column in a row as it stands in the file.
    """

    file: str
    header: tuple[str, ...] = ()
    cells: dict[str, np.ndarray] = field(default_factory=dict)
    rows: np.ndarray = field(default_factory=lambda: np.array([], dtype=np.int64))
    decimal: Decimal = "."
    header_row: int = 1
    days: DayOrder = ""
    positions: dict[str, int] = field(default_factory=dict)

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
    place = header_place(rows, table)
    header_line, header = rows[place][0], header_names(rows[place][1], table)
    passed = [PassedOver("title", [line for line, _ in rows[:place]], quoted(rows[0][1]))] if place else []
    rows = rows[place + 1 :] or list(islice(stream, 1))
    if rows and (known := units_given(rows[0][1], header, table)) is not None:
        _say_units_against(file, rows[0], header, table, findings)
        header = known
        passed.append(PassedOver("row of units", [rows.pop(0)[0]]))
    if not _header_is_sound(file, header_line, header, findings):
        deque(stream, maxlen=0)  # what is wrong with the rows below is told all the same
        return None
    found = record_rows(chain(rows, stream), header, table, lambda: {line for line, _ in faults}, passed)
    beside = _say_too_long(file, found.too_long, len(header), findings, ragged=ragged)
    _say_faults(file, found.lines, header, faults, findings)
    _say_passed_over(file, passed, findings)
    if beside or any(not name and any(column) for name, column in zip(header, found.columns, strict=True)):
        findings.append(Finding("doubt", file, header_line, None, _NO_NAME, "a name above every column"))
    cells_of = {name: column for name, column in zip(header, found.columns, strict=True) if name}
    positions = {name: position for position, name in enumerate(header) if name}
    return Sheet(file, tuple(cells_of), cells_of, found.lines, decimal, header_line, positions=positions)


def _say_units_against(file: str, row: Row, header: list[str], table: Table, findings: list[Finding]) -> None:
    """An error for each column that has one unit in the header and another in the row of units below it."""
    for name, unit in units_against(row[1], header, table):
        what, remedy = f"the row of units says {unit!r} below {name}", "take out the one that is wrong"
        findings.append(Finding("error", file, row[0], name, what, "the unit of the column's name", remedy))


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


def _say_faults(file: str, lines: np.ndarray, header: list[str], faults: Faults, findings: list[Finding]) -> None:
    """An error for each fault in a cell that is read."""
    read = set(lines.tolist()) if faults else set()
    for (line, position), fault in faults.items():
        name = header[position] if position < len(header) else ""
        if line in read and name and name not in fault.but_in:
            findings.append(Finding("error", file, line, name, fault.what, fault.expected, fault.remedy))


def _say_passed_over(file: str, passed: list[PassedOver], findings: list[Finding]) -> None:
    for part in passed:
        many = len(part.lines) > 1
        lines = f"rows {part.lines[0]} to {part.lines[-1]}" if many else f"row {part.lines[0]}"
        said = f" ({part.text!r}{', ...' if many else ''})" if len(part.text) >= _FEWEST_QUOTED else ""
        what = f"{lines} {'are' if many else 'is'} not read: {part.kind}{said}"
        findings.append(Finding("note", file, part.lines[0], None, what, ""))


def _header_is_sound(file: str, line: int, header: list[str], findings: list[Finding]) -> bool:
    """Whether every named column stands once; columns without a name are dropped by the caller."""
    twice = sorted({name for name in header if name and header.count(name) > 1})
    for name in twice:
        findings.append(
            Finding(
                "error",
                file,
                line,
                name,
                "the column stands twice",
                "each column once",
                "delete or rename one",
            )
        )
    return not twice
