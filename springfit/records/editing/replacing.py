"""Corrected rows put in place of those in the book: which row each one corrects, and the book's files with its values.

A row corrects the one of the same name (of a reading: at the same place, by the same gauge). Where a corrected sheet
has as many rows of one reading session, or of one profile, as the book has, and just one of them stands at another
place, its place was mistyped and it corrects the one that is missing. A cell left empty under a header that the
corrected sheet has says that the value is not known: it empties the book's. A column that the sheet has not got
corrects nothing.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.lengths import parse_length, split_unit
from springfit.records.blank_cells import is_blank
from springfit.records.columns import Column
from springfit.records.editing.cell_writing import csv_lines, length_cell
from springfit.records.sheets.csv_text import csv_form
from springfit.records.sheets.formula_guard import guarded
from springfit.records.sheets.parsing import Parsed, parse_sheet
from springfit.records.sheets.sources import TableSheets
from springfit.records.sheets.table_names import table_of
from springfit.records.tables import TABLES

__all__ = ["CellChange", "Replacing", "replaced_rows", "with_cells"]

_READING = ("bell_id", "stage", "kind", "datum", "z_mm", "angle_deg", "gauge_id")
_SAME_MM = 1e-6  # a nanometre, rounding of a conversion: far finer than any reading
# What a row's place lies in: rows of one such group are told apart by the rest of their key.
_GROUPS = {
    "measurements": ("bell_id", "stage", "kind", "datum", "angle_deg", "gauge_id"),
    "mandrel_profile": ("mandrel_id", "revision"),
    "target_profile": ("target_id",),
}


@dataclass(frozen=True)
class CellChange:
    """One cell of the book: where it stands (`position`: cells before it in its row), what was in it, what is."""

    file: str
    row: int
    header: str
    subject: str
    old: str
    new: str
    position: int

    def said(self) -> str:
        """The old value and the new one."""
        return f"{self.old or '(blank)'} -> {self.new or '(blank)'}"


@dataclass(frozen=True)
class Replacing:
    """`fresh`: the sheets without the rows that correct one of the book's; `changes`: the cells that differ."""

    fresh: TableSheets
    changes: tuple[CellChange, ...]
    findings: tuple[Finding, ...]


def replaced_rows(old: TableSheets, new: TableSheets) -> Replacing:
    """Which cells of the book the new sheets correct. Errors where the book's file has no column for a value."""
    fresh: TableSheets = []
    changes: list[CellChange] = []
    findings: list[Finding] = []
    for table, sheet in new:
        of_book = [parse_sheet(one, TABLES[name]) for name, one in old if name == table and len(one)]
        parsed = parse_sheet(sheet, TABLES[table])
        pairs = _pairs(table, of_book, parsed)
        for row, (part, place) in pairs.items():
            _compare(parsed, row, part, place, changes, findings)
        fresh.append((table, sheet.rows_where(np.array([n not in pairs for n in range(len(sheet))], dtype=bool))))
    return Replacing(fresh, tuple(changes), tuple(findings))


def with_cells(files: Mapping[str, bytes], changes: tuple[CellChange, ...]) -> dict[str, bytes]:
    """The CSV files that change, each with its changed cells; every other line is kept word for word, and so are the
    encoding, the mark between cells and the line ends.

    Raises ValueError for a file whose encoding has no such letter.
    """
    by_file: dict[str, list[CellChange]] = {}
    for change in changes:
        by_file.setdefault(change.file, []).append(change)
    return {name: _rewritten(files[name], some) for name, some in by_file.items()}


def _pairs(table: str, of_book: list[Parsed], new: Parsed) -> dict[int, tuple[Parsed, int]]:
    """Row of the new sheet -> the book's row that it corrects."""
    key = _READING if table == "measurements" else TABLES[table].key
    if not key:
        return {}
    group = _GROUPS.get(table, ())
    known: dict[tuple, tuple[Parsed, int]] = {}
    groups: dict[tuple, list[tuple]] = {}
    for part in of_book:
        for place, name in enumerate(_names(part, key)):
            known.setdefault(name, (part, place))
            groups.setdefault(_within(name, key, group), []).append(name)
    typed = _names(new, key)
    pairs = {row: known[name] for row, name in enumerate(typed) if name in known}
    for within, names in groups.items() if group else ():
        rows = [row for row, name in enumerate(typed) if _within(name, key, group) == within]
        moved = [row for row in rows if row not in pairs]
        missing = [name for name in names if name not in {typed[row] for row in rows}]
        if len(rows) == len(names) and len(moved) == len(missing) == 1:
            pairs[moved[0]] = known[missing[0]]
    return pairs


def _names(part: Parsed, key: tuple[str, ...]) -> list[tuple]:
    columns = [part.frame[name] for name in key]
    lists = [c.round(6).fillna(-1e9).tolist() if c.dtype == float else c.tolist() for c in columns]
    return list(zip(*lists, strict=True))


def _within(name: tuple, key: tuple[str, ...], group: tuple[str, ...]) -> tuple:
    return tuple(part for part, column in zip(name, key, strict=True) if column in group)


def _compare(
    new: Parsed, row: int, part: Parsed, place: int, changes: list[CellChange], findings: list[Finding]
) -> None:
    """The cells of one row of the book that the corrected row has otherwise."""
    for column in new.table.columns:
        header = new.headers.get(column.frame_name)
        value, before = new.frame[column.frame_name].iloc[row], part.frame[column.frame_name].iloc[place]
        if header is None or (row, column.frame_name) in new.unread or _same(column, value, before):
            continue
        own = part.headers.get(column.frame_name)
        line = int(new.sheet.rows[row])
        if own is None:
            what = f"the book's {part.sheet.file} has no column for {column.name}"
            remedy = "add the column there, with its unit where it is a length"
            findings.append(Finding("error", new.sheet.file, line, header, what, "a column of that name", remedy))
            continue
        cell = _as_written(column, value, str(new.sheet.cells[header][row]), header, own)
        subject = str(part.frame[part.table.columns[0].frame_name].iloc[place])
        old = str(part.sheet.cells[own][place])
        row_of_book, position = int(part.sheet.rows[place]), part.sheet.positions[own]
        changes.append(CellChange(part.sheet.file, row_of_book, own, subject, old, cell, position))


def _same(column: Column, value: Any, before: Any) -> bool:
    """Whether both say the same; two blanks do."""
    if is_blank(value) or is_blank(before):
        return is_blank(value) and is_blank(before)
    return bool(abs(value - before) < _SAME_MM if column.numeric else value == before)


def _as_written(column: Column, value: Any, cell: str, header: str, own: str) -> str:
    """The cell as it is typed in the book's column `own`: as it was typed where that says the same there."""
    if is_blank(value):
        return ""
    if column.kind == "date":
        return str(pd.Timestamp(value).date())
    if column.kind != "length":
        return f"{value:.12g}" if column.numeric else guarded(cell)
    unit = split_unit(own)[1] or "mm"
    try:
        if split_unit(header)[1] == unit and abs(parse_length(cell, unit) - value) < _SAME_MM:
            return cell
    except ValueError:
        pass  # a decimal comma, a fraction that a spreadsheet made a day of: written as a number
    return length_cell(float(value), unit)


def _rewritten(data: bytes, changes: list[CellChange]) -> bytes:
    """A CSV text with some cells changed."""
    form = csv_form(data, TABLES[table_of(changes[0].file) or ""])
    if form is None:
        raise ValueError("no text")
    by_row: dict[int, list[CellChange]] = {}
    for change in changes:
        by_row.setdefault(change.row, []).append(change)
    lines = list(io.StringIO(form.text, newline=""))
    reader = csv.reader(lines, delimiter=form.separator)
    out: list[str] = []
    end = 0
    for record in reader:
        begin, end = end + 1, reader.line_num
        if begin not in by_row:
            out += lines[begin - 1 : end]
            continue
        for change in by_row[begin]:
            record.extend([""] * (change.position + 1 - len(record)))
            record[change.position] = change.new
        last = lines[end - 1]
        line_end = last[len(last.rstrip("\r\n")) :]
        text = csv_lines([record], line_end="\r\n", separator=form.separator).decode()
        out.append(text.removesuffix("\r\n") + line_end)
    return form.encoded("".join(out))
