"""Lengths at the edge of the program: a typed cell and its column's unit in, millimetres out.

Inside the program every length is a float in mm. The unit of a typed number stands in the name of its column
(`z_in`, `wall_mm`, `value_thou`) and nowhere else, so no number is ever read by its size.
"""

from __future__ import annotations

import math
import re

__all__ = [
    "INCH_PATTERN", "MM_PER_UNIT", "UnreadNumberError", "from_mm", "in_thousandths", "in_words", "parse_length",
    "parse_number", "split_unit",
]  # fmt: skip

MM_PER_UNIT = {"mm": 1.0, "in": 25.4, "thou": 0.0254}  # mm in one unit; inch: exact since 1959

_DECIMAL = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_FRACTION = re.compile(r"([+-]?)(?:(\d{1,9})(?:\s*-\s*|\s+))?(\d{1,9})\s*/\s*(\d{1,9})", re.ASCII)
_THOU_BELOW_MM = 2.54  # 0.1 in: larger sizes are said in inches
_RULE_DENOMINATORS = (2, 4, 8, 16, 32, 64, 128)  # the divisions of an inch rule

_DECIMAL_TEXT = r"[+\-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+\-]?[0-9]{1,3})?"
_DIVISIONS = "|".join(str(parts) for parts in _RULE_DENOMINATORS)
_FRACTION_TEXT = rf"[+\-]?([0-9]{{1,9}}(\s*\-\s*|\s+))?[0-9]{{1,9}}\s*/\s*0*({_DIVISIONS})"
INCH_PATTERN = rf'(({_DECIMAL_TEXT}|{_FRACTION_TEXT})(\s*")?)'
"""What a cell of an `_in` column looks like, as a regular expression that XML Schema and Python both read."""


class UnreadNumberError(ValueError):
    """A cell that holds no number: `reason` says of its text what is wrong with it."""

    def __init__(self, text: str, reason: str) -> None:
        super().__init__(text, reason)
        self.text, self.reason = text, reason

    def __str__(self) -> str:
        return f"{self.text!r} {self.reason}"


def parse_length(text: str, unit: str, *, decimal_comma: bool = False) -> float:
    """Millimetres meant by the cell `text` of a column in `unit` ("mm", "in" or "thou").

    In inches a rule fraction is a number: `3/8`, `2-3/8`, `2 3/8`, each with or without a closing inch mark.
    Raises UnreadNumberError (a ValueError) naming what was found; KeyError for a unit that is not in `MM_PER_UNIT`.
    """
    scale = MM_PER_UNIT[unit]
    cell = text.strip()
    if unit == "in":
        cell = cell.removesuffix('"').rstrip()
        match = _FRACTION.fullmatch(cell)
        if match:
            return _fraction(match, text) * scale
    return parse_number(cell, decimal_comma=decimal_comma) * scale


def parse_number(text: str, *, decimal_comma: bool = False) -> float:
    """The number in the cell `text`; with `decimal_comma` a single comma stands for the point.

    Raises UnreadNumberError naming what was found: a comma where a point is meant, text, or no finite number.
    """
    cell = text.strip()
    if "," in cell:
        if not decimal_comma:
            raise UnreadNumberError(text, "has a comma (a decimal comma?)")
        if "." in cell or cell.count(",") > 1:
            raise UnreadNumberError(text, "has more than a single decimal comma")
        cell = cell.replace(",", ".")
    if not _DECIMAL.fullmatch(cell):
        raise UnreadNumberError(text, "is not a number")
    value = float(cell)
    if not math.isfinite(value):
        raise UnreadNumberError(text, "is too large for a number")
    return value


def split_unit(column: str) -> tuple[str, str | None]:
    """Name and unit of a column: `"z_mm"` -> `("z", "mm")`; a column that is not a length has unit None."""
    name, mark, unit = column.rpartition("_")
    return (name, unit) if mark and name and unit in MM_PER_UNIT else (column, None)


def from_mm(value: float, unit: str) -> float:
    """The length `value` [mm] in `unit` ("mm", "in" or "thou"); KeyError for another unit."""
    return value / MM_PER_UNIT[unit]


def in_words(value: float, units: str, *, digits: str = ".4g") -> str:
    """A small length `value` [mm] in the unit that a shop says it in: thou below 0.1 in where its book is in inches.
    `digits`: how a number of mm is written."""
    if units != "in":
        return f"{value:{digits}} mm"
    return f"{from_mm(value, 'thou'):.3g} thou" if abs(value) < _THOU_BELOW_MM else f"{from_mm(value, 'in'):.4g} in"


def in_thousandths(value: float, units: str, *, sign: str = "") -> str:
    """A difference `value` [mm] to a thousandth of a mm, or a tenth of a thou; with `sign` "+" it is always signed."""
    return f"{from_mm(value, 'thou'):{sign}.1f} thou" if units == "in" else f"{value:{sign}.3f} mm"


def _fraction(match: re.Match[str], text: str) -> float:
    """Value [in] of a matched rule fraction; UnreadNumberError for one that no rule carries."""
    sign, whole, top, bottom = match.groups()
    numerator, denominator = int(top), int(bottom)
    if denominator not in _RULE_DENOMINATORS:
        raise UnreadNumberError(text, f"divides the inch by {denominator}, which no rule does")
    if numerator >= denominator:
        # Nobody reads 23/8 off a rule: it is what is left of 2-3/8 where the 3 was raised, or the mark forgotten.
        said = "has a whole number and a fraction" if whole is not None else "is a fraction"
        raise UnreadNumberError(text, f"{said} of one or more")
    value = int(whole or 0) + numerator / denominator
    return -value if sign == "-" else value
