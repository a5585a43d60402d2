"""New rows as text for the book's files: appended word for word where columns fit, else in a new file."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from springfit.lengths import MM_PER_UNIT, split_unit
from springfit.records.columns import Column
from springfit.records.day_setting import kept_day_order
from springfit.records.editing.cell_writing import csv_lines
from springfit.records.journal import book_files
from springfit.records.sheets.cells import TypedColumn, plain_texts, read_column
from springfit.records.sheets.csv_text import csv_sheet
from springfit.records.sheets.days import DayOrder, day_of
from springfit.records.sheets.formula_guard import guarded
from springfit.records.sheets.headers import match_headers
from springfit.records.sheets.made_dates import is_made_date
from springfit.records.sheets.sheet import LARGEST_SHEET, Sheet
from springfit.records.sheets.sources import TableSheets
from springfit.records.sheets.table_names import table_of
from springfit.records.tables import TABLES

__all__ = ["merged_files", "merged_sheets"]

_INCHES = Column("length", "length")


def merged_files(folder: Path, sheets: TableSheets, corrected: Mapping[str, bytes]) -> dict[str, bytes]:
    """Name and whole new text of every file of the book that changes when the rows of `sheets` are added, those that
    are `corrected` first among them."""
    old = {
        name: data
        for name, data in book_files(folder, largest=LARGEST_SHEET).items()
        if isinstance(data, bytes)
    }
    new: dict[str, bytes] = dict(corrected)
    for table, sheet in sheets:
        main = f"{table}.csv"
        before = new.get(main, old.get(main))
        if before is None:
            new[main] = _with_rows(csv_lines([list(sheet.header)]), sheet, table)
        elif _fits(before, sheet):
            new[main] = _with_rows(before, sheet, table)
        else:
            name = _free_name(table, {*old, *new})
            new[name] = _with_rows(csv_lines([list(sheet.header)]), sheet, table)
    return new


def merged_sheets(folder: Path, files: dict[str, bytes]) -> TableSheets:
    """The book's sheets as they will be once `files` are written."""
    both, days = {**book_files(folder, largest=LARGEST_SHEET), **files}, kept_day_order(folder)
    sheets: TableSheets = []
    for name, data in both.items():
        table = table_of(name)
        if table is not None and isinstance(data, bytes):
            sheet, _ = csv_sheet(name, data, TABLES[table])
            sheets.append((table, Sheet(name) if sheet is None else replace(sheet, days=days)))
    return sheets


def _fits(before: bytes, sheet: Sheet) -> bool:
    """Whether the rows can be appended as they are: plain UTF-8, and a column for each of theirs."""
    try:
        text = before.decode("utf-8-sig")
    except UnicodeDecodeError:
        return False
    return set(sheet.header) <= set(_header(text))


def _header(text: str) -> list[str]:
    """Column names of a CSV text as they are read."""
    rows = (row for row in csv.reader(io.StringIO(text, newline="")) if any(cell.strip() for cell in row))
    return [cell.strip().lower() for cell in next(rows, [])]


def _with_rows(before: bytes, sheet: Sheet, table: str) -> bytes:
    """The text with the sheet's rows after it, in the order of its columns and with its line ends."""
    text = before.decode("utf-8-sig")
    line_end = "\r\n" if "\r\n" in text else "\n"
    cells = _cells(sheet, table)
    blank = [""] * len(sheet)
    columns = [cells.get(name, blank) for name in _header(text)]
    join = b"" if before.endswith((b"\n", b"\r")) else line_end.encode()
    return before + join + csv_lines(zip(*columns, strict=True), line_end=line_end)


def _cells(sheet: Sheet, table: str) -> dict[str, list[str]]:
    """The sheet's cells as they are to be written: points in numbers, texts that no spreadsheet computes."""
    matched, _ = match_headers(sheet, TABLES[table])
    kind = {header: TABLES[table].by_name[name].kind for name, header in matched.items()}
    numeric = {header for name, header in matched.items() if TABLES[table].by_name[name].numeric}
    written = {}
    for header in sheet.header:
        cells = sheet.cells[header]
        if kind.get(header) == "date":
            # The book is written year-month-day, whatever the order in its sheets.
            cells = np.array([_iso(cell, sheet.days) for cell in cells], dtype=object)
        if header not in numeric:
            written[header] = [guarded(text or "") for text in plain_texts(cells)]
        else:
            numbers = [cell.replace(",", ".") if "," in sheet.decimal else cell for cell in cells]
            written[header] = _without_made_dates(numbers, header, sheet)
    return written


def _without_made_dates(cells: list[str], header: str, sheet: Sheet) -> list[str]:
    """Fractions that a spreadsheet made days of as the fractions that they are read as."""
    if split_unit(header)[1] != "in" or not any(is_made_date(cell) for cell in cells):
        return cells
    typed = TypedColumn(_INCHES, header, sheet.cells[header], sheet.decimal, _no_refusal)
    values = read_column(typed) / MM_PER_UNIT["in"]
    return [repr(float(round(v, 12))) if is_made_date(c) else c for c, v in zip(cells, values, strict=True)]


def _no_refusal(row: int, what: str, expected: str, remedy: str = "", *, note: bool = False) -> None:
    """What is written was read without an error before."""


def _iso(cell: str, days: DayOrder) -> str:
    day = day_of(cell, days)
    return cell if np.isnat(day) else str(day.astype("datetime64[D]"))


def _free_name(table: str, taken: set[str]) -> str:
    """A file name of the table that the book has not got yet."""
    names = {name.lower() for name in taken}
    number = 2
    while f"{table}-{number:02d}.csv" in names:
        number += 1
    return f"{table}-{number:02d}.csv"
