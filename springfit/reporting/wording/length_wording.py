"""How a length is printed in a sentence, with the digits a maker can set or read.

A *place* is a station along the axis or the diameter that helps to find it, an *amount* a small distance per
side (an error, a cut); sizes to cut to stand in tables only. Inch users think of amounts in thou (0.001 in).
"""

from __future__ import annotations

import math
from typing import Literal

from springfit.lengths import from_mm

__all__ = ["Units", "amount", "both_ways", "others", "place"]

Units = Literal["mm", "in"]

_PLACE_DECIMALS = {"mm": 1, "in": 2}  # what a rule laid along the bed can find
_UNKNOWN = "not known"


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


def others(value_mm: float, units: Units) -> str:
    """The same distance [mm], unsigned, in the units `amount` does not use: `0.0073 in, 0.185 mm`."""
    if not math.isfinite(value_mm):
        return _UNKNOWN
    length = abs(value_mm)
    if units == "in":
        return f"{_digits(from_mm(length, 'in'), 4)} in, {_digits(length, 3)} mm"
    return f"{_digits(from_mm(length, 'thou'), 1)} thou"


def both_ways(value_mm: float, units: Units) -> str:
    """A small distance without its sign and the other units in brackets: `7.3 thou (0.0073 in, 0.185 mm)`."""
    if not math.isfinite(value_mm):
        return _UNKNOWN
    return f"{amount(abs(value_mm), units)} ({others(value_mm, units)})"


def _digits(value: float, decimals: int, *, signed: bool = False) -> str:
    """`value` with fixed decimals and never a minus sign before nought."""
    if not math.isfinite(value):
        return _UNKNOWN
    rounded = round(float(value), decimals) + 0.0  # + 0.0 turns -0.0 into 0.0
    return f"{rounded:+.{decimals}f}" if signed and rounded else f"{rounded:.{decimals}f}"
