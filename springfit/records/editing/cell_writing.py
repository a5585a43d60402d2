"""Cells as a shop types them: lines of CSV, the columns of a table, lengths and numbers, a workbook as bytes."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from openpyxl import Workbook

from springfit.lengths import from_mm
from springfit.records.blank_cells import is_blank
from springfit.records.columns import Table

__all__ = ["csv_lines", "header_in", "length_cell", "number_cell", "workbook_bytes"]

_DECIMALS = 12  # of a number: far finer than any reading, coarser than the rounding of a conversion


def csv_lines(rows: Iterable[Sequence[str]], *, line_end: str = "\n", separator: str = ",") -> bytes:
    """Rows of cells as UTF-8 CSV."""
    stream = io.StringIO()
    csv.writer(stream, lineterminator=line_end, delimiter=separator).writerows(rows)
    return stream.getvalue().encode()


def header_in(table: Table, unit: str) -> list[str]:
    """The table's column names, lengths in `unit`."""
    return [f"{column.name}_{unit}" if column.kind == "length" else column.name for column in table.columns]


def length_cell(value_mm: float, unit: str) -> str:
    """A length [mm] as a cell of a column in `unit`; blank for NaN."""
    return number_cell(from_mm(value_mm, unit))


def number_cell(value: float) -> str:
    """Shortest text of a number; blank for NaN."""
    if is_blank(value):
        return ""
    rounded = round(value, _DECIMALS)
    return str(int(rounded)) if rounded == int(rounded) else repr(rounded)


def workbook_bytes(workbook: Workbook) -> bytes:
    """The workbook as the bytes of an .xlsx file."""
    stream = io.BytesIO()
    workbook.save(stream)
    return stream.getvalue()
