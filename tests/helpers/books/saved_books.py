"""A book that was read, written again as a shop would type it, in either unit: for what is read must come back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import pandas as pd
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell

from springfit.files import write_file, write_folder
from springfit.records.blank_cells import is_blank
from springfit.records.book import Book
from springfit.records.columns import Column, Table
from springfit.records.editing import cell_writing as cells
from springfit.records.sheets.formula_guard import guarded
from springfit.records.tables import TABLES

__all__ = ["save_book"]


def save_book(book: Book, path: Path, *, units: str | None = None) -> None:
    """Writes the book, in one unit, as a workbook (a path ending in .xlsx) or as a new folder of CSV files.

    Empty optional tables are left out.
    """
    unit = units or book.units
    frames = {name: getattr(book, name) for name in TABLES}
    tables = [table for table in TABLES.values() if table.required or len(frames[table.name])]
    if path.suffix == ".xlsx":
        write_file(path, cells.workbook_bytes(_workbook(tables, frames, unit)))
    else:
        write_folder({f"{table.name}.csv": _csv(frames[table.name], table, unit) for table in tables}, path)


def _csv(frame: pd.DataFrame, table: Table, unit: str) -> bytes:
    """A frame as CSV, texts guarded."""
    numeric = [column.numeric for column in table.columns]
    safe = [
        [cell if number else guarded(cell) for cell, number in zip(row, numeric, strict=True)]
        for row in _rows(frame, table, unit)
    ]
    return cells.csv_lines([cells.header_in(table, unit), *safe])


def _workbook(tables: Sequence[Table], frames: Mapping[str, pd.DataFrame], unit: str) -> Workbook:
    """A workbook with a sheet a table, numbers as numbers, texts as text whatever they begin with."""
    workbook = Workbook(write_only=True)
    for table in tables:
        numeric = [column.numeric for column in table.columns]
        sheet = workbook.create_sheet(table.name)
        sheet.append(cells.header_in(table, unit))
        for row in _rows(frames[table.name], table, unit):
            sheet.append([_cell(sheet, cell, number) for cell, number in zip(row, numeric, strict=True)])
    return workbook


def _cell(sheet: object, text: str, numeric: bool) -> object:
    if not text or numeric:
        return float(text) if text else None
    cell = WriteOnlyCell(sheet, value=text)
    cell.data_type = "s"
    return cell


def _rows(frame: pd.DataFrame, table: Table, unit: str) -> list[list[str]]:
    columns = [_texts(frame[column.frame_name], column, unit) for column in table.columns]
    return [list(row) for row in zip(*columns, strict=True)]


def _texts(values: pd.Series, column: Column, unit: str) -> list[str]:
    """Cells of one column as text; blanks empty."""
    if column.kind == "date":
        return ["" if is_blank(day) else str(day.date()) for day in values]
    if not column.numeric:
        return ["" if is_blank(text) else text for text in values]
    if column.kind == "length":
        return [cells.length_cell(value, unit) for value in values.to_numpy(float).tolist()]
    return [cells.number_cell(value) for value in values.to_numpy(float).tolist()]
