"""Tables written as a shop types them: CSV and workbook cells that no spreadsheet takes for a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

import pandas as pd
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell

from springfit.files import write_file, write_folder
from springfit.lengths import from_mm
from springfit.records.blank_cells import is_blank
from springfit.records.book import Book
from springfit.records.columns import Column, Table
from springfit.records.sheets.formula_guard import guarded
from springfit.records.tables import TABLES

__all__ = ["csv_lines", "header_in", "length_cell", "save_book", "table_texts", "workbook_bytes"]

_DECIMALS = 12  # of a length: far finer than any reading, coarser than the rounding of a conversion


def csv_lines(rows: Iterable[Sequence[str]], *, line_end: str = "\n", separator: str = ",") -> bytes:
    """Rows of cells as UTF-8 CSV."""
    stream = io.StringIO()
    csv.writer(stream, lineterminator=line_end, delimiter=separator).writerows(rows)
    return stream.getvalue().encode()


def header_in(table: Table, unit: str) -> list[str]:
    """The table's column names, lengths in `unit`."""
    return [f"{column.name}_{unit}" if column.kind == "length" else column.name for column in table.columns]


def table_texts(frame: pd.DataFrame, table: Table, unit: str) -> tuple[list[str], list[list[str]]]:
    """Header and rows of a frame as text, lengths in `unit`, with every declared column."""
    header = header_in(table, unit)
    columns = [_texts(frame[column.frame_name], column, unit) for column in table.columns]
    return header, [list(row) for row in zip(*columns, strict=True)]


def save_book(book: Book, path: str | Path, *, units: str | None = None) -> None:
    """Writes the book, in one unit, as a workbook (a path ending in .xlsx) or as a new folder of CSV files.

    Empty optional tables are left out. Raises FileExistsError rather than write over anything.
    """
    path, unit = Path(path), units or book.units
    if path.exists():
        raise FileExistsError(f"{path} exists already")
    frames = {name: getattr(book, name) for name in TABLES}
    tables = [table for table in TABLES.values() if table.required or len(frames[table.name])]
    if path.suffix.lower() == ".xlsx":
        write_file(path, workbook_bytes(_workbook(tables, frames, unit)))
    else:
        write_folder({f"{table.name}.csv": _csv(frames[table.name], table, unit) for table in tables}, path)


def workbook_bytes(workbook: Workbook) -> bytes:
    """The workbook as the bytes of an .xlsx file."""
    stream = io.BytesIO()
    workbook.save(stream)
    return stream.getvalue()


def _csv(frame: pd.DataFrame, table: Table, unit: str) -> bytes:
    """A frame as CSV, texts guarded."""
    header, rows = table_texts(frame, table, unit)
    numeric = [column.numeric for column in table.columns]
    safe = [[t if n else guarded(t) for t, n in zip(row, numeric, strict=True)] for row in rows]
    return csv_lines([header, *safe])


def _workbook(tables: Sequence[Table], frames: Mapping[str, pd.DataFrame], unit: str) -> Workbook:
    """A workbook with a sheet a table, numbers as numbers."""
    workbook = Workbook(write_only=True)
    for table in tables:
        header, rows = table_texts(frames[table.name], table, unit)
        numeric = [column.numeric for column in table.columns]
        sheet = workbook.create_sheet(table.name)
        for row in [header, *rows]:
            sheet.append([_cell(sheet, t, n) for t, n in zip(row, numeric, strict=True)])
    return workbook


def _cell(sheet: object, text: str, numeric: bool) -> object:
    """A workbook cell: a number, or text that stays text whatever it begins with."""
    if not text:
        return None
    try:
        return float(text) if numeric else _text_cell(sheet, text)
    except ValueError:
        return text  # a header


def _text_cell(sheet: object, text: str) -> object:
    cell = WriteOnlyCell(sheet, value=text)
    cell.data_type = "s"
    return cell


def _texts(values: pd.Series, column: Column, unit: str) -> list[str]:
    """Cells of one column as text; blanks empty."""
    if column.kind == "date":
        return ["" if is_blank(day) else str(day.date()) for day in values]
    if not column.numeric:
        return ["" if is_blank(text) else text for text in values]
    scale = from_mm(1.0, unit) if column.kind == "length" else 1.0
    return [_number(value * scale) for value in values.to_numpy(float).tolist()]


def length_cell(value_mm: float, unit: str) -> str:
    """A length [mm] as a cell of a column in `unit`; blank for NaN."""
    return _number(from_mm(value_mm, unit))


def _number(value: float) -> str:
    """Shortest text of a number; blank for NaN."""
    if is_blank(value):
        return ""
    rounded = round(value, _DECIMALS)
    return str(int(rounded)) if rounded == int(rounded) else repr(rounded)
