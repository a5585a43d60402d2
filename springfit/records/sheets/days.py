"""Days as text: year-month-day always, with any mark between, another order only where the shop has said which it uses.

A time of day behind it is left out: spreadsheets put one to a day that they are asked to stamp.
"""

from __future__ import annotations

import re
from typing import Literal

import numpy as np

__all__ = ["DAY_ORDERS", "DayOrder", "bare_number_remedy", "day_of", "is_bare_number", "is_iso_day", "is_other_day"]

DayOrder = Literal["", "day-first", "month-first"]
DAY_ORDERS: tuple[DayOrder, ...] = ("day-first", "month-first")

_ISO = re.compile(r"\d{4}-\d{2}-\d{2}(?:[T ]00:00(?::00(?:\.0+)?)?)?", re.ASCII)
# Nobody writes year, day, month: a year of four figures first leaves no other order.
_YEAR_FIRST = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})(?:[T ]\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?)?", re.ASCII)
_OTHER = re.compile(r"(\d{1,2})[./ -](\d{1,2})[./ -](\d{4})", re.ASCII)  # a year of two figures stays a guess
_BARE = re.compile(r"[2-6]\d{4}", re.ASCII)  # 1954 to 2091: spreadsheets count days
_FIRST_DAY = np.datetime64("1899-12-30")  # of their count, as it is since March 1900
_NOT_A_DAY = np.datetime64("NaT", "ns")


def day_of(cell: str, order: DayOrder) -> np.datetime64:
    """The day of a cell, between 1900 and 2199; NaT when it is none, or written in an order that is not known."""
    if year_first := _YEAR_FIRST.fullmatch(cell):
        year, _, month, day = year_first.groups()
        return _day(f"{year}-{month:0>2}-{day:0>2}")
    other = _OTHER.fullmatch(cell) if order else None
    if other is None:
        return _NOT_A_DAY
    first, second, year = other.groups()
    day, month = (first, second) if order == "day-first" else (second, first)
    return _day(f"{year}-{month:0>2}-{day:0>2}")


def is_iso_day(cell: str) -> bool:
    """Whether the cell begins as an ISO day does."""
    return _ISO.match(cell) is not None


def is_other_day(cell: str) -> bool:
    """Whether the cell is a day in figures, in an order that has to be known."""
    return _OTHER.fullmatch(cell) is not None


def is_bare_number(cell: str) -> bool:
    """Whether the cell may be a day that a spreadsheet shows as its bare number."""
    return _BARE.fullmatch(cell) is not None


def bare_number_remedy(cell: str) -> str:
    """What to do about a day that a spreadsheet shows as its bare number; "" where the cell is none."""
    if not is_bare_number(cell):
        return ""
    day = _FIRST_DAY + np.timedelta64(int(cell), "D")
    return f"is it a spreadsheet's number of a day ({day})? Give the column's cells the form of a date there"


def _day(iso: str) -> np.datetime64:
    if "1900" <= iso[:4] < "2200":
        try:
            return np.datetime64(iso, "ns")
        except ValueError:
            pass  # a month or a day that no calendar has
    return _NOT_A_DAY
