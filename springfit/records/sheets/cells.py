"""Cells of one column read by its kind: numbers and lengths in mm, dates, choices, names, texts.

The fast path reads a whole column at once; only cells that it cannot read are read one by one.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import pandas as pd

from springfit.lengths import MM_PER_UNIT, parse_length, parse_number, split_unit
from springfit.records.columns import Column
from springfit.records.sheets.formula_guard import unguarded
from springfit.records.sheets.sheet import Decimal

__all__ = ["Refuse", "TypedColumn", "plain_texts", "read_column"]

_ISO_DATE = re.compile(r"\d{4}-\d{2}-\d{2}(?:[T ]00:00(?::00(?:\.0+)?)?)?", re.ASCII)
_LONGEST_ID = 200  # characters
_LONGEST_SHOWN = 60  # characters of a wrong cell that a message repeats


class Refuse(Protocol):
    """Takes note of an error in the cell at position `row`."""

    def __call__(self, row: int, what: str, expected: str, remedy: str = "") -> None: ...


@dataclass(frozen=True)
class TypedColumn:
    """One column as typed: `cells` is an object array of stripped text, blanks ""."""

    column: Column
    header: str
    cells: np.ndarray
    decimal: Decimal
    refuse: Refuse


def read_column(typed: TypedColumn) -> np.ndarray:
    """The column's values: float (lengths in mm; blank NaN), datetime64 (NaT) or object of str (None)."""
    return _READERS[typed.column.kind](typed)


def plain_texts(cells: np.ndarray) -> np.ndarray:
    """Texts in composed Unicode form, blanks None, the guard before a formula sign taken off."""
    return _mapped(cells, {cell: _plain(cell) for cell in set(cells)})


def _read_numbers(typed: TypedColumn) -> np.ndarray:
    unit = split_unit(typed.header)[1] if typed.column.kind == "length" else None
    cells = typed.cells
    values = np.array(pd.to_numeric(pd.Series(cells, dtype=object), errors="coerce"), dtype=float)
    values *= MM_PER_UNIT[unit] if unit else 1.0
    for row in np.flatnonzero(~np.isfinite(values) & (cells != "")).tolist():
        values[row] = np.nan
        try:
            values[row] = _number(cells[row], unit, "," in typed.decimal)
        except ValueError as wrong:
            expected = f"a number in {unit}" if unit else "a number"
            typed.refuse(row, _shortened(str(wrong)), expected, _remedy(cells[row], unit))
    if "," in typed.decimal:
        _refuse_points(typed)
    if typed.column.kind == "whole":
        for row in np.flatnonzero(np.isfinite(values) & (values != np.floor(values))).tolist():
            typed.refuse(row, f"{cells[row]!r} is not a whole number", "0, 1, 2 ...")
            values[row] = np.nan
    return values


def _number(cell: str, unit: str | None, comma: bool) -> float:
    if unit is None:
        return parse_number(cell, decimal_comma=comma)
    return parse_length(cell, unit, decimal_comma=comma)


def _refuse_points(typed: TypedColumn) -> None:
    """Where commas are decimal, a point could part thousands."""
    if typed.decimal == ".," and not any("," in cell for cell in set(typed.cells)):
        return
    for row, cell in enumerate(typed.cells):
        if "." in cell and "," not in cell:
            typed.refuse(row, f"{cell!r} has a point where numbers have commas", "a decimal comma")


def _remedy(cell: str, unit: str | None) -> str:
    """What to do about a cell that is no number."""
    if "," in cell:
        return "write a decimal point, or read the book with --decimal-comma"
    if _ISO_DATE.match(cell):
        return "the spreadsheet has made a date of it: format the column as text and type it again"
    if "/" in cell and unit is not None and unit != "in":
        return "fractions are read in columns that end in _in only"
    return "correct the cell, or leave it blank if it is not known"


def _read_dates(typed: TypedColumn) -> np.ndarray:
    days = {cell: _day(cell) for cell in set(typed.cells)}
    for row, cell in enumerate(typed.cells):
        if cell and np.isnat(days[cell]):
            expected = "a day as year-month-day, such as 2025-03-04"
            typed.refuse(row, f"{_shortened(repr(cell))} is not an ISO date", expected)
    return np.array([days[cell] for cell in typed.cells], dtype="datetime64[ns]")


def _day(cell: str) -> np.datetime64:
    """The day of an ISO date between 1900 and 2199, else NaT."""
    if _ISO_DATE.fullmatch(cell) and "1900" <= cell[:4] < "2200":
        try:
            return np.datetime64(cell[:10], "ns")
        except ValueError:
            pass  # a month or a day that no calendar has
    return np.datetime64("NaT", "ns")


def _read_choices(typed: TypedColumn) -> np.ndarray:
    """Whatever the letter case typed, one of the column's choices."""
    choices = typed.column.choices
    meant: dict[str, str | None] = {}
    for cell in set(typed.cells):
        plain = cell.casefold().replace(" ", "_")
        meant[cell] = plain if plain in choices else None
    for row, cell in enumerate(typed.cells):
        if cell and meant[cell] is None:
            close = difflib.get_close_matches(cell.casefold(), choices, 1)
            remedy = f"is it {close[0]!r}?" if close else ""
            typed.refuse(
                row, f"{_shortened(repr(cell))} is not one of the choices", ", ".join(choices), remedy
            )
    return _mapped(typed.cells, meant)


def _read_texts(typed: TypedColumn) -> np.ndarray:
    texts = plain_texts(typed.cells)
    if not typed.column.pattern:
        return texts
    pattern = re.compile(typed.column.pattern, re.ASCII)
    texts = _mapped(texts, {text: text and text.upper() for text in set(texts)})
    for row, text in enumerate(texts):
        if text is not None and not pattern.fullmatch(text):
            remedy = "" if typed.column.filled else "leave it blank if it is not known"
            typed.refuse(row, f"{_shortened(repr(text))} is not understood", typed.column.meaning, remedy)
    return texts


def _read_ids(typed: TypedColumn) -> np.ndarray:
    """Names; one with letters that cannot be seen is refused, for it would never be found again."""
    texts = plain_texts(typed.cells)
    odd = {text for text in set(texts) if text and (len(text) > _LONGEST_ID or not text.isprintable())}
    for row, text in enumerate(texts) if odd else ():
        if text in odd:
            expected = f"at most {_LONGEST_ID} letters, all of them visible"
            typed.refuse(row, f"{_shortened(ascii(text))} is not a name", expected, "type the cell again")
    return texts


def _plain(cell: str) -> str | None:
    if not cell:
        return None
    return unicodedata.normalize("NFC", unguarded(cell))


def _mapped(cells: np.ndarray, meant: Mapping[str, str | None]) -> np.ndarray:
    """Object array of `meant[cell]` for every cell."""
    texts = np.empty(len(cells), dtype=object)
    texts[:] = [meant[cell] for cell in cells]
    return texts


def _shortened(text: str) -> str:
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}..."


_READERS: dict[str, Callable[[TypedColumn], np.ndarray]] = {
    "id": _read_ids,
    "text": _read_texts,
    "choice": _read_choices,
    "length": _read_numbers,
    "number": _read_numbers,
    "whole": _read_numbers,
    "date": _read_dates,
}
