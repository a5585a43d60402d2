"""The cells of a new sheet as a book has them: points in numbers, days year-month-day, nothing that computes."""

from __future__ import annotations

import numpy as np

from springfit.lengths import MM_PER_UNIT, split_unit
from springfit.records.columns import Column
from springfit.records.sheets.cells import TypedColumn, plain_texts, read_column
from springfit.records.sheets.days import DayOrder, day_of
from springfit.records.sheets.formula_guard import guarded
from springfit.records.sheets.headers import match_headers
from springfit.records.sheets.made_dates import is_made_date
from springfit.records.sheets.sheet import Sheet
from springfit.records.tables import TABLES

__all__ = ["written_cells"]

_INCHES = Column("length", "length")


def written_cells(sheet: Sheet, table: str) -> dict[str, list[str]]:
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
