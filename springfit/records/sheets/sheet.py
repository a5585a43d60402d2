"""One sheet as it was typed: its cells as text under their headers, each row with the line it stands on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from operator import itemgetter
from typing import Literal

import numpy as np

from springfit.findings import Finding
from springfit.records.columns import Table
from springfit.records.sheets.days import DayOrder
from springfit.records.sheets.layout.header_words import header_names
from springfit.records.sheets.layout.invisible import visible
from springfit.records.sheets.layout.table_rows import (
    PassedOver,
    header_place,
    passed_over,
    units_given,
)

__all__ = ["LARGEST_SHEET", "Decimal", "Fault", "Faults", "Sheet", "text_sheet"]

LARGEST_SHEET = 128 * 2**20  # bytes; a million readings typed as CSV are about 70 MB
_LONGEST_QUOTED = 60  # characters of a row passed over that a note repeats
_NO_NAME = "cells stand in a column without a name; they are not read"
_FEWEST_QUOTED = 3  # letters: less says nothing

Decimal = Literal[".", ",", ".,"]  # the decimal mark of a sheet; ".,": either, but one in each column
Rows = list[tuple[int, list[str]]]


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
    records: Iterator[tuple[int, list[str]]],
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
    rows = _with_text(records, {line for line, _ in faults})
    if not rows:
        findings.append(Finding("error", file, 1, None, "the sheet is empty", "a row of column names"))
        return None
    place = header_place(rows, table)
    header_line, header = rows[place][0], header_names(rows[place][1], table)
    passed = [PassedOver("title", [line for line, _ in rows[:place]], _quoted(rows[:place]))] if place else []
    rows = rows[place + 1 :]
    if rows and (known := units_given(rows[0][1], header, table)) is not None:
        header = known
        passed.append(PassedOver("row of units", [rows[0][0]]))
        rows = rows[1:]
    if not _header_is_sound(file, header_line, header, findings):
        return None
    rows = _records_only(rows, header, table, faults, passed)
    beside = _fitted(file, rows, header, findings, ragged=ragged)
    _say_faults(file, rows, header, faults, findings)
    _say_passed_over(file, passed, findings)
    columns = _columns(rows, len(header))
    if beside or any(not name and any(column) for name, column in zip(header, columns, strict=True)):
        findings.append(Finding("doubt", file, header_line, None, _NO_NAME, "a name above every column"))
    cells_of = {name: column for name, column in zip(header, columns, strict=True) if name}
    lines = np.array([line for line, _ in rows], dtype=np.int64)
    positions = {name: position for position, name in enumerate(header) if name}
    return Sheet(file, tuple(cells_of), cells_of, lines, decimal, header_line, positions=positions)


def _columns(rows: Rows, count: int) -> list[np.ndarray]:
    """The cells of every column, top to bottom; empty ones where there is no row."""
    columns = [_objects(column) for column in zip(*(cells for _, cells in rows), strict=True)]
    return columns or [_objects([]) for _ in range(count)]


class _Visible(dict[str, str]):
    """What is seen of a cell, each worked out and kept once."""

    def __missing__(self, cell: str) -> str:
        self[cell] = seen = visible(cell)
        return seen


def _with_text(records: Iterator[tuple[int, list[str]]], faulty: set[int]) -> Rows:
    """The rows with anything in them, cells stripped."""
    text = _Visible()
    rows: Rows = []
    for line, record in records:
        cells = [text[cell] for cell in record]
        if any(cells) or line in faulty:
            rows.append((line, cells))
    return rows


def _records_only(
    rows: Rows, header: list[str], table: Table, faults: Faults, passed: list[PassedOver]
) -> Rows:
    """The rows that are records; the others are noted in `passed`."""
    filled = {column.name for column in table.columns if column.filled}
    needed = [n for n, name in enumerate(header) if name in filled or name.rpartition("_")[0] in filled]
    computed = {line for line, _ in faults}
    first = header[needed[0]] if needed else ""
    whole = len(needed) == len(filled)
    needed_of = itemgetter(*needed, *needed[:1]) if needed else tuple
    kept: Rows = []
    for line, cells in rows:
        short = len(cells) < len(header)
        if whole and not short and all(needed_of(cells)) and cells[needed[0]].casefold() != first:
            kept.append((line, cells))
            continue
        kind = passed_over(cells, header, table, computed=line in computed)
        if not kind:
            kept.append((line, cells))
            continue
        if not passed or passed[-1].kind != kind:
            passed.append(PassedOver(kind, text=_quoted([(line, cells)])))
        passed[-1].lines.append(line)
    return kept


def _fitted(file: str, rows: Rows, header: list[str], findings: list[Finding], *, ragged: bool) -> bool:
    """Makes every row as long as the header; whether anything beside the table was left out."""
    beside = False
    for line, cells in rows:
        if len(cells) == len(header):
            continue
        extra = [cell for cell in cells[len(header) :] if cell]
        beside |= bool(extra)
        if extra and not ragged:
            what = f"the row has {len(cells)} cells, the header {len(header)}"
            remedy = "a decimal comma or an unquoted comma splits a cell in two: write a point, or quote it"
            findings.append(Finding("error", file, line, None, what, "no more cells than the header", remedy))
        del cells[len(header) :]
        cells.extend([""] * (len(header) - len(cells)))
    return beside and ragged


def _say_faults(file: str, rows: Rows, header: list[str], faults: Faults, findings: list[Finding]) -> None:
    """An error for each fault in a cell that is read."""
    lines = {line for line, _ in rows} if faults else set()
    for (line, position), fault in faults.items():
        name = header[position] if position < len(header) else ""
        if line in lines and name and name not in fault.but_in:
            findings.append(Finding("error", file, line, name, fault.what, fault.expected, fault.remedy))


def _say_passed_over(file: str, passed: list[PassedOver], findings: list[Finding]) -> None:
    for part in passed:
        many = len(part.lines) > 1
        lines = f"rows {part.lines[0]} to {part.lines[-1]}" if many else f"row {part.lines[0]}"
        said = f" ({part.text!r}{', ...' if many else ''})" if len(part.text) >= _FEWEST_QUOTED else ""
        what = f"{lines} {'are' if many else 'is'} not read: {part.kind}{said}"
        findings.append(Finding("note", file, part.lines[0], None, what, ""))


def _quoted(rows: Rows) -> str:
    """What the first of the rows says, shortened."""
    text = " ".join(cell for cell in rows[0][1] if cell)
    return text if len(text) <= _LONGEST_QUOTED else f"{text[:_LONGEST_QUOTED]}..."


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


def _objects(column: tuple[str, ...] | list[str]) -> np.ndarray:
    """A 1-D object array of the texts."""
    array = np.empty(len(column), dtype=object)
    array[:] = column
    return array
