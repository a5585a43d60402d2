"""What to do about a cell that should hold a number and holds none: one remedy for each way it comes about."""

from __future__ import annotations

import re

from springfit.records.sheets.days import is_iso_day
from springfit.records.sheets.made_dates import is_made_date

__all__ = ["number_remedy"]

_MADE_A_DATE = "the spreadsheet has made a date of it: set the column's cells to text there and type them again"
_TIME = re.compile(r"\d{1,2}:\d{2}(:|$)", re.ASCII)
_INCH_MARKS = ('"', "''", "\u2033", "\u201d")


def number_remedy(cell: str, unit: str | None) -> str:
    """What to do about a cell that is no number."""
    if "," in cell:
        return "write a decimal point, or read the book with --decimal-comma"
    if is_iso_day(cell) or _TIME.match(cell) or (unit == "in" and is_made_date(cell)):
        return _MADE_A_DATE
    if cell.endswith(_INCH_MARKS) and unit is not None and unit != "in":
        return "inch marks are read in columns that end in _in only"
    if "/" in cell and unit is not None and unit != "in":
        return "fractions are read in columns that end in _in only"
    if "/" in cell and unit == "in":
        return "write whole inches, a dash and a fraction of a rule, as 2-3/8"
    return "correct the cell, or leave it blank if it is not known"
