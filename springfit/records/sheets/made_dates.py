"""Fractions of an inch that a spreadsheet made days of: `1/4` became 4 January, `2-3/8` 3 February 2008.

A day is read back only where one fraction alone fits between the cell above and the cell below; anything else is left
for the person who knows. What spreadsheets make of a fraction: month and day of the current year, in the country's
order; or month and year where the day is out of range (`5/32`: 1 May 1932); of a mixed number a whole date.
"""

from __future__ import annotations

import datetime
import re

import numpy as np
from numpy.typing import NDArray

__all__ = ["fractions_of_days", "is_made_date"]

_ISO = re.compile(r"(\d{4})-(\d{2})-(\d{2})(?:[T ]00:00(?::00(?:\.0+)?)?)?", re.ASCII)
_DAY_MONTH = re.compile(
    r"(\d{1,2})-([A-Za-z]{3})", re.ASCII
)  # as a spreadsheet shows it, and saves it as CSV
_MONTH_YEAR = re.compile(r"([A-Za-z]{3})-(\d{2})", re.ASCII)
# A whole date as a country shows it, and as it is saved as CSV: `1/4/2004` of 1-1/4
_WHOLE = re.compile(r"(\d{1,2})([./-])(\d{1,2})\2(\d{4}|\d{2})", re.ASCII)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_DIVISIONS = (2, 4, 8, 16, 32, 64, 128)  # of an inch rule


def is_made_date(cell: str) -> bool:
    """Whether a cell of a column of inches holds a day."""
    return bool(_candidates(cell))


def fractions_of_days(
    cells: NDArray[np.object_], inches: NDArray[np.float64]
) -> dict[int, tuple[float, str]]:
    """For each cell that holds a day, where it is sure: (inches, the fraction as typed).

    `inches` are the cells' values where they are numbers, NaN elsewhere. A run of days is read back when one growing
    row of fractions alone fits between the values before and after it.
    """
    found: dict[int, tuple[float, str]] = {}
    row = 0
    while row < len(cells):
        if np.isfinite(inches[row]) or not is_made_date(cells[row]):
            row += 1
            continue
        end = row
        while end < len(cells) and not np.isfinite(inches[end]) and is_made_date(cells[end]):
            end += 1
        below = inches[row - 1] if row else np.nan
        above = inches[end] if end < len(cells) else np.nan
        if below < above:
            rows = _rows_between([_candidates(cell) for cell in cells[row:end]], float(below), float(above))
            if len(rows) == 1:
                found.update({row + n: one for n, one in enumerate(rows[0])})
        row = end
    return found


def _rows_between(
    choices: list[dict[str, float]], below: float, above: float
) -> list[list[tuple[float, str]]]:
    """Growing rows of one fraction a cell between two values; at most two, for only one is of use."""
    rows: list[list[tuple[float, str]]] = [[]]
    for some in choices:
        longer = []
        for row in rows:
            last = row[-1][0] if row else below
            longer += [[*row, (value, text)] for text, value in some.items() if last < value < above]
        rows = longer[:1000]
    return rows[:2]


def _candidates(cell: str) -> dict[str, float]:
    """Fractions that a spreadsheet could have made the cell's day of: text to inches."""
    parts = _parts(cell)
    if parts is None:
        return {}
    found: dict[str, float] = {}
    for whole, top, bottom in parts:
        if bottom in _DIVISIONS and 0 < top < bottom:
            text = f"{whole}-{top}/{bottom}" if whole else f"{top}/{bottom}"
            found[text] = whole + top / bottom
    return found


def _parts(cell: str) -> list[tuple[int, int, int]] | None:
    """(whole, numerator, denominator) of what may have been typed; None for a cell that is no day."""
    if iso := _ISO.fullmatch(cell):
        year, month, day = (int(part) for part in iso.groups())
        try:
            datetime.date(year, month, day)
        except ValueError:
            return None
        short = year % 100
        mixed = [(month, day, short), (day, month, short)]
        plain = [(0, month, day), (0, day, month)]
        return plain + mixed + ([(0, month, short)] if day == 1 else [])
    if shown := _WHOLE.fullmatch(cell):
        first, second, year = int(shown.group(1)), int(shown.group(3)), int(shown.group(4)) % 100
        if max(first, second) > 31 or min(first, second) > 12 or not min(first, second):
            return None
        orders = ((first, second), (second, first))
        mixed = [(a, b, year) for a, b in orders]
        return mixed + [(0, a, b) for a, b in orders] + [(0, a, year) for a, b in orders if b == 1]
    if (shown := _DAY_MONTH.fullmatch(cell)) and shown.group(2).lower() in _MONTHS:
        day, month = int(shown.group(1)), _MONTHS.index(shown.group(2).lower()) + 1
        return [(0, month, day), (0, day, month)]
    if (shown := _MONTH_YEAR.fullmatch(cell)) and shown.group(1).lower() in _MONTHS:
        return [(0, _MONTHS.index(shown.group(1).lower()) + 1, int(shown.group(2)))]
    return None
