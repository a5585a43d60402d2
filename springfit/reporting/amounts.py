"""How a length is printed: sizes, places and small amounts, each with the digits a maker can set or read.

A *size* is a diameter, a *place* a station along the axis, an *amount* a small normal distance per side (an
error, a cut). Inch users think of amounts in thou (0.001 in), so an amount is given in thou first and in mm
beside it.
"""

from __future__ import annotations

import math
from typing import Literal

from springfit.lengths import from_mm

__all__ = ["Units", "amount", "both_ways", "place", "size"]

Units = Literal["mm", "in"]

_SIZE_DECIMALS = {"mm": 3, "in": 4}  # 0.001 mm or 0.0001 in: the last digit of a good bench micrometer
_PLACE_DECIMALS = {"mm": 1, "in": 2}  # what a rule laid along the bed can find
_UNKNOWN = "not known"


def size(value_mm: float, units: Units) -> str:
    """A diameter [mm] as bare digits in `units`."""
    return _digits(from_mm(value_mm, units), _SIZE_DECIMALS[units])


def place(value_mm: float, units: Units) -> str:
    """A station along the axis [mm] as bare digits in `units`, as fine as it can be found by rule."""
    return _digits(from_mm(value_mm, units), _PLACE_DECIMALS[units])


def amount(value_mm: float, units: Units, *, signed: bool = False) -> str:
    """A small distance per side [mm] with its unit: thou for inch users, mm otherwise."""
    if not math.isfinite(value_mm):
        return _UNKNOWN
    if units == "in":
        return f"{_digits(from_mm(value_mm, 'thou'), 1, signed=signed)} thou"
    return f"{_digits(value_mm, 3, signed=signed)} mm"


def both_ways(value_mm: float, units: Units, *, signed: bool = False) -> str:
    """A small distance in `units` with the other system in brackets: `7.3 thou (0.0073 in, 0.185 mm)`."""
    if not math.isfinite(value_mm):
        return _UNKNOWN
    first = amount(value_mm, units, signed=signed)
    millimetres = _digits(value_mm, 3, signed=signed)
    if units == "in":
        return f"{first} ({_digits(from_mm(value_mm, 'in'), 4, signed=signed)} in, {millimetres} mm)"
    return f"{first} ({_digits(from_mm(value_mm, 'thou'), 1, signed=signed)} thou)"


def _digits(value: float, decimals: int, *, signed: bool = False) -> str:
    """`value` with fixed decimals and never a minus sign before nought."""
    if not math.isfinite(value):
        return _UNKNOWN
    rounded = round(float(value), decimals) + 0.0  # + 0.0 turns -0.0 into 0.0
    return f"{rounded:+.{decimals}f}" if signed and rounded else f"{rounded:.{decimals}f}"
