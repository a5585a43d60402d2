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

from springfit.alloy_names import ALLOY_NAMES, alloys_known, uns_of
from springfit.lengths import MM_PER_UNIT, UnreadNumberError, parse_length, parse_number, split_unit
from springfit.records.columns import Column
from springfit.records.sheets.days import DayOrder, bare_number_remedy, day_of, is_other_day
from springfit.records.sheets.formula_guard import unguarded
from springfit.records.sheets.layout.invisible import plain_number_signs
from springfit.records.sheets.made_dates import fractions_of_days, is_made_date
from springfit.records.sheets.number_remedies import number_remedy
from springfit.records.sheets.sheet import Decimal

__all__ = ["Refuse", "TypedColumn", "plain_texts", "read_column"]

_DAY = "a day as year-month-day, such as 2025-03-04"
_MOST_OF_A_CAUSE = 3  # cells of a column at fault for one cause that are listed one by one; they show what is wrong
_LONGEST_ID = 200  # characters; no name is so long
_LONGEST_SHOWN = 60  # characters of a wrong cell that a message repeats; what a line holds


class Refuse(Protocol):
    """Takes note of an error in the cell at position `row`, or with `note` of something to be known about it."""

    def __call__(
        self, row: int, what: str, expected: str, remedy: str = "", *, note: bool = False
    ) -> None: ...


@dataclass(frozen=True)
class TypedColumn:
    """One column as typed: `cells` is an object array of stripped text, blanks ""."""

    column: Column
    header: str
    cells: np.ndarray
    decimal: Decimal
    refuse: Refuse
    days: DayOrder = ""


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
    wrong: dict[int, str] = {}
    for row in np.flatnonzero(~np.isfinite(values) & (cells != "")).tolist():
        values[row] = np.nan
        try:
            values[row] = _number(cells[row], unit, "," in typed.decimal)
        except UnreadNumberError as unread:
            wrong[row] = _shortened(str(unread))
    if unit == "in" and any(is_made_date(cells[row]) for row in wrong):
        for row, (inches, fraction) in fractions_of_days(cells, values / MM_PER_UNIT["in"]).items():
            values[row] = inches * MM_PER_UNIT["in"]
            del wrong[row]
            what = f"{cells[row]!r}, which the spreadsheet made a date, is read as {fraction}"
            typed.refuse(row, what, "the only fraction between the cells above and below", note=True)
    _refuse_by_cause(typed, wrong, unit)
    if "," in typed.decimal:
        _refuse_points(typed)
    if typed.column.kind == "whole":
        for row in np.flatnonzero(np.isfinite(values) & (values != np.floor(values))).tolist():
            typed.refuse(row, f"{cells[row]!r} is not a whole number", "0, 1, 2 ...")
            values[row] = np.nan
    return values


def _refuse_by_cause(typed: TypedColumn, wrong: Mapping[int, str], unit: str | None) -> None:
    """An error for each cell that is no number; one for all where many have one cause."""
    expected = f"a number in {unit}" if unit else "a number"
    causes: dict[str, list[int]] = {}
    for row in wrong:
        causes.setdefault(number_remedy(typed.cells[row], unit), []).append(row)
    for remedy, rows in causes.items():
        many = len(rows) > _MOST_OF_A_CAUSE
        for n, row in enumerate(rows):
            if many:
                more = f"{wrong[row]}, and so on in {len(rows)} cells of the column"
                typed.refuse(row, "" if n else more, expected, remedy)
            else:
                typed.refuse(row, wrong[row], expected, remedy)


def _number(cell: str, unit: str | None, comma: bool) -> float:
    plain = plain_number_signs(cell)
    try:
        return (
            parse_length(plain, unit, decimal_comma=comma)
            if unit
            else parse_number(plain, decimal_comma=comma)
        )
    except UnreadNumberError as wrong:
        raise UnreadNumberError(cell, wrong.reason) from None


def _refuse_points(typed: TypedColumn) -> None:
    """Where commas are decimal, a point could part thousands."""
    if typed.decimal == ".," and not any("," in cell for cell in set(typed.cells)):
        return
    for row, cell in enumerate(typed.cells):
        if "." in cell and "," not in cell:
            typed.refuse(row, f"{cell!r} has a point where numbers have commas", "a decimal comma")


def _read_dates(typed: TypedColumn) -> np.ndarray:
    days = {cell: day_of(cell, typed.days) for cell in set(typed.cells)}
    wrong = [row for row, cell in enumerate(typed.cells) if cell and np.isnat(days[cell])]
    asked = [row for row in wrong if is_other_day(typed.cells[row])]
    ask = (
        "say once which comes first: springfit check BOOK --days day-first (or month-first)"
        if not typed.days
        else ""
    )
    for n, row in enumerate(asked):
        more = f", and so on in {len(asked)} cells" if len(asked) > 1 else ""
        what = f"{_shortened(repr(typed.cells[row]))} is not an ISO date{more}"
        typed.refuse(row, "" if n and more else what, _DAY, ask)
    for row in wrong:
        if row not in asked:
            said = typed.cells[row]
            typed.refuse(row, f"{_shortened(repr(said))} is not an ISO date", _DAY, bare_number_remedy(said))
    return np.array([days[cell] for cell in typed.cells], dtype="datetime64[ns]")


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


def _read_alloys(typed: TypedColumn) -> np.ndarray:
    """UNS numbers; of a common name a note tells what it is read as, one that says no single alloy is refused."""
    texts = plain_texts(typed.cells)
    meant = {text: text and uns_of(text) for text in set(texts)}
    said: set[str] = set()
    for row, text in enumerate(texts):
        if text is None or (text in said and meant[text]):
            continue
        uns = meant[text]
        said.add(text)
        if uns is None:
            typed.refuse(row, f"{_shortened(repr(text))} names no single alloy", f"one of {alloys_known()}")
        elif uns not in (text, text.upper()):
            named = ALLOY_NAMES.get(uns)
            what = f"{_shortened(repr(text))} is read as {uns}{f' ({named.told})' if named else ''}"
            typed.refuse(row, what, "", note=True)
    return _mapped(texts, meant)


def _read_ids(typed: TypedColumn) -> np.ndarray:
    """Names; one with letters that cannot be seen is refused, for it would never be found again."""
    texts = plain_texts(typed.cells)
    odd = {text for text in set(texts) if text and (len(text) > _LONGEST_ID or not text.isprintable())}
    for row, text in enumerate(texts) if odd else ():
        if text in odd:
            expected = f"at most {_LONGEST_ID} letters, all of them visible"
            typed.refuse(row, f"{_shortened(ascii(text))} is not a name", expected, "type the cell again")
    return _mapped(texts, {text: None if text in odd else text for text in set(texts)}) if odd else texts


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
    "alloy": _read_alloys,
    "choice": _read_choices,
    "length": _read_numbers,
    "number": _read_numbers,
    "whole": _read_numbers,
    "date": _read_dates,
}
