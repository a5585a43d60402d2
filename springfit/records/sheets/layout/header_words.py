"""Header words as people write them (`Z (in)`, `Mandrel ID`, `diameter, mm`) as the names that are declared."""

from __future__ import annotations

import re
from collections.abc import Sequence

from springfit.lengths import MM_PER_UNIT, split_unit
from springfit.records.columns import Table

__all__ = ["UNIT_WORDS", "header_names", "names_a_column", "unit_of_word", "words_left_out"]

_PLAIN = re.compile(r"[a-z0-9_]+")
_WORDS = re.compile(r"[^\W_]+|\"", re.UNICODE)
_BRACKETS = re.compile(r"\([^)]*\)|\[[^\]]*\]")

# Words for the three units as they stand in headers and unit rows.
_UNITS = {
    "in": "in", "inch": "in", "inches": "in", '"': "in", "''": "in", "mm": "mm", "millimetre": "mm",
    "millimetres": "mm", "millimeter": "mm", "millimeters": "mm", "thou": "thou", "thousandths": "thou",
    "mil": "thou", "mils": "thou",
}  # fmt: skip
# What else stands in a row of units, above columns that have none.
UNIT_WORDS = frozenset(
    {*_UNITS, "-", "--", "deg", "degrees", "°", "rpm", "1/min", "text", "date", "id", "no", "#"}
)


def header_names(cells: Sequence[str], table: Table) -> list[str]:
    """Each header in small letters, by its declared name where its words say one of the table's columns."""
    return [_name(cell.casefold(), table) for cell in cells]


def names_a_column(header: str, table: Table) -> bool:
    """Whether a header, as `header_names` gives it, is one of the table's columns, with a unit or without."""
    name, unit = split_unit(header)
    column = table.by_name.get(name if unit else header)
    return column is not None and (unit is None or column.kind == "length")


def words_left_out(cells: Sequence[str], header: Sequence[str], table: Table) -> list[tuple[str, str]]:
    """Name of each column of numbers whose cell has more than a unit in brackets, and what else stands there."""
    found = []
    for cell, name in zip(cells, header, strict=False):
        quantity, unit = split_unit(name)
        column = table.by_name.get(quantity if unit else name)
        said = " ".join(part[1:-1].strip() for part in _BRACKETS.findall(cell))
        words = " ".join(_WORDS.findall(said.casefold()))
        numbers = column is not None and column.numeric and (unit is not None or column.kind != "length")
        if numbers and words and unit_of_word(words) is None and words.replace(" ", "_") not in name:
            found.append((name, said))
    return found


def unit_of_word(word: str) -> str | None:
    """The unit that a cell of a unit row names: `mm`, `(in)`, `inches`; None for another word."""
    return _UNITS.get(word.casefold().strip("()[]. "))


def _name(header: str, table: Table) -> str:
    """The declared name of a header, else the header itself with its line breaks as blanks."""
    if not header or _PLAIN.fullmatch(header):
        return header if not header or names_a_column(header, table) else _with_id(header, table) or header
    said = header.replace("\u2033", '"').replace("\u201d", '"').replace("''", '"')
    for words in (_WORDS.findall(said), _WORDS.findall(_BRACKETS.sub(" ", said))):
        candidate = _joined(words)
        if candidate and names_a_column(candidate, table) and not _other_unit(candidate, said):
            return candidate
        if found := _with_id(candidate, table):
            return found
    return " ".join(header.split())


def _other_unit(name: str, said: str) -> bool:
    """Whether the brackets of a header name another unit than its words: `value_mm (in)` says neither."""
    units = {unit_of_word(word) for part in _BRACKETS.findall(said) for word in _WORDS.findall(part)}
    return bool(units - {None, split_unit(name)[1]}) and split_unit(name)[1] is not None


def _joined(words: list[str]) -> str:
    """Words as one name, a unit at their end by its usual sign: `z`, `in`, `inches` are `z_in`."""
    plain = "_".join(words)
    if len(words) < 2 or words[-1] not in _UNITS:
        return plain.replace('"', "")
    before = words[:-2] if words[-2] == "in" and len(words) > 2 and words[-1] != '"' else words[:-1]
    return "_".join([*before, _UNITS[words[-1]]]).replace('"', "")


def _with_id(name: str, table: Table) -> str | None:
    """`bell`, `bell_no`, `bell_name` for the column bell_id; None where the table has no such column."""
    stem = re.sub(r"_(no|nr|number|name)$", "", name)
    column = table.by_name.get(f"{stem}_id")
    return column.name if column is not None and column.kind == "id" and name not in MM_PER_UNIT else None
