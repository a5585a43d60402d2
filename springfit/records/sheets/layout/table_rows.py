"""The rows of a sheet that are its table: where the header stands, and which rows below are no records.

People put a title above, units below the header, the header again half-way, totals and remarks underneath. Such rows
are passed over by name, each with a note; a row that could be a record is never passed over.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from springfit.lengths import parse_length, split_unit
from springfit.records.columns import Column, Table
from springfit.records.sheets.layout.header_words import (
    UNIT_WORDS,
    header_names,
    names_a_column,
    unit_of_word,
)

__all__ = [
    "HEADER_WITHIN",
    "PassedOver",
    "Row",
    "header_place",
    "header_score",
    "passed_over",
    "units_against",
    "units_given",
]

HEADER_WITHIN = 40  # rows with text in which a header is looked for: titles and remarks above it take a few
_TOTALS = re.compile(
    r"(grand )?(sub ?)?(totals?|sum|mean|average|avg\.?|averages|count|median|min(imum)?|max(imum)?"
    r"|st\.? ?dev\.?|sd|range)"
    r"( of .*)?[:=]?",
    re.IGNORECASE,
)
_ISO_DAY = re.compile(r"\d{4}-\d{2}-\d{2}.*")
_WORDS = ("id", "text", "alloy")  # kinds of columns that may hold any words
_FEWEST_NAMES = 2  # of columns in one row: one alone may be a word like any other
_SENTENCE = 3  # words: a name of a bell or batch has fewer

Row = tuple[int, list[str]]


@dataclass
class PassedOver:
    """Rows that are no records, by what they are: `title`, `row of units`, `header again`, `another header`, `totals`,
    `remark`; `units` are those that their words name."""

    kind: str
    lines: list[int] = field(default_factory=list)
    text: str = ""
    units: set[str] = field(default_factory=set)


def header_score(cells: Sequence[str], table: Table) -> int:
    """How many of the cells name a column of the table."""
    return sum(1 for name in set(header_names(cells, table)) if name and names_a_column(name, table))


def header_place(rows: Sequence[Row], table: Table) -> int:
    """Which of the first rows with text is the header: the first that names most columns, else the first of all."""
    scores = [header_score(cells, table) for _, cells in rows[:HEADER_WITHIN]]
    return scores.index(max(scores)) if scores else 0


def units_given(cells: Sequence[str], header: Sequence[str], table: Table) -> list[str] | None:
    """The header with the units of the row of units below it; None when that row is none."""
    said = [cell for cell in cells if cell]
    if not said or any(cell.casefold().strip("()[]. ") not in UNIT_WORDS for cell in said):
        return None
    if not any(unit_of_word(cell) for cell in said):
        return None
    units = [unit_of_word(cell) if cell else None for cell in cells]
    units += [None] * (len(header) - len(units))
    return [_with_unit(name, unit, table) for name, unit in zip(header, units, strict=False)]


def units_against(cells: Sequence[str], header: Sequence[str], table: Table) -> list[tuple[str, str]]:
    """Of a row of units: each header that names a unit of its own, and the other one that stands below it."""
    found = []
    for name, cell in zip(header, cells, strict=False):
        quantity, own = split_unit(name)
        column, unit = table.by_name.get(quantity), unit_of_word(cell) if cell else None
        if own and unit and own != unit and column is not None and column.kind == "length":
            found.append((name, cell))
    return found


def _with_unit(name: str, unit: str | None, table: Table) -> str:
    column = table.by_name.get(name)
    return f"{name}_{unit}" if unit and column is not None and column.kind == "length" else name


def passed_over(cells: Sequence[str], header: Sequence[str], table: Table, *, computed: bool) -> str:
    """What a row is that is no record (a kind of `PassedOver`); "" for one that is to be read.

    `computed`: a cell of the row held a formula. Only rows that leave a needed cell blank may be totals or remarks.
    """
    said = [(name, cell) for name, cell in zip(header, cells, strict=False) if cell]
    if again := _header_or_units(cells, header, table):
        return again
    columns = {name: _column(name, table) for name, _ in said}
    needed = {column.name for column in table.columns if column.filled}
    filled = {columns[name].name for name, cell in said if _fits(columns[name], name, cell)}  # type: ignore[union-attr]
    if needed <= filled:
        return ""
    label = any(_TOTALS.fullmatch(cell) for _, cell in said)
    ids = [name for name, _ in said if columns[name] is not None and columns[name].kind == "id"]  # type: ignore[union-attr]
    if (label or (computed and not ids)) and len(needed & filled) <= max(1, len(needed) - 2):
        return "totals"
    if not said:
        return "" if computed else "remark"  # all of it stands beside the table
    sure = [name for name, cell in said if _sure(columns[name], name, cell)]
    if sure:
        return ""
    first = next((column.name for column in table.columns if column.kind == "id"), "")
    alone = len(said) == 1
    words = max(len(cell.split()) for _, cell in said)
    if words >= _SENTENCE and not (len(said) > 1 and _value(said, first)):
        return "remark"
    return "remark" if alone and said[0][0] != first else ""


def _header_or_units(cells: Sequence[str], header: Sequence[str], table: Table) -> str:
    """`header again`, `another header` that names the columns otherwise, `row of units`; "" for another row."""
    names = header_names(cells, table)
    declared = [(a, b) for a, b in zip(names, header, strict=False) if a and names_a_column(a, table)]
    if len(declared) >= _FEWEST_NAMES and 2 * len(declared) >= sum(map(bool, cells)):
        return "header again" if all(_same_column(a, b) for a, b in declared) else "another header"
    if len(cells) <= len(header) and units_given(cells, header, table) is not None:
        return "another header" if units_against(cells, header, table) else "row of units"
    return ""


def _same_column(again: str, name: str) -> bool:
    """Whether a header that stands again names its column as above, with the unit or without."""
    return again == name or again == split_unit(name)[0]


def _value(said: list[tuple[str, str]], name: str) -> bool:
    """Whether the column is filled with what may be a name."""
    return any(column == name and len(cell.split()) < _SENTENCE for column, cell in said)


def _column(header: str, table: Table) -> Column | None:
    name, unit = split_unit(header)
    return table.by_name.get(name if unit and name in table.by_name else header)


def _fits(column: Column | None, header: str, cell: str) -> bool:
    """Whether the cell holds what its column asks for."""
    return column is not None and (column.kind in _WORDS or _sure(column, header, cell))


def _sure(column: Column | None, header: str, cell: str) -> bool:
    """Whether the cell is a number, a choice or a day where its column asks for one: the row may be a record."""
    if column is None or column.kind in _WORDS:
        return False
    if column.kind == "choice":
        return cell.casefold().replace(" ", "_") in column.choices
    if column.kind == "date":
        return any(letter.isdigit() for letter in cell) and len(cell.split()) < _SENTENCE
    if _ISO_DAY.fullmatch(cell):
        return True  # a number that a spreadsheet made a day of
    try:
        parse_length(cell, split_unit(header)[1] or "in", decimal_comma=True)
    except (ValueError, KeyError):
        return any(letter.isdigit() for letter in cell) and len(cell.split()) < _SENTENCE
    return True
