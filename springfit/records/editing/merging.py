"""New rows as text for the book's files: appended word for word where columns fit, else in a new file."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from springfit.records.day_setting import kept_day_order
from springfit.records.editing.cell_writing import csv_lines
from springfit.records.editing.written_cells import written_cells
from springfit.records.journal import book_files
from springfit.records.sheets.csv_text import csv_sheet
from springfit.records.sheets.sheet import LARGEST_SHEET, Sheet
from springfit.records.sheets.sources import TableSheets
from springfit.records.sheets.table_names import table_of
from springfit.records.tables import TABLES

__all__ = ["merged_files", "merged_sheets"]



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
    cells = written_cells(sheet, table)
    blank = [""] * len(sheet)
    columns = [cells.get(name, blank) for name in _header(text)]
    join = b"" if before.endswith((b"\n", b"\r")) else line_end.encode()
    return before + join + csv_lines(zip(*columns, strict=True), line_end=line_end)


def _free_name(table: str, taken: set[str]) -> str:
    """A file name of the table that the book has not got yet."""
    names = {name.lower() for name in taken}
    number = 2
    while f"{table}-{number:02d}.csv" in names:
        number += 1
    return f"{table}-{number:02d}.csv"
