"""How a length is printed in a sentence, with the digits a maker can set or read.

A *place* is a station along the axis or the diameter that helps to find it, an *amount* a small distance per
side (an error, a cut); sizes to cut to stand in tables only. Inch users think of amounts in thou (0.001 in).
"""

from __future__ import annotations

import math
from typing import Literal

from springfit.lengths import from_mm

__all__ = [
    "LEAST_MOVE_MM", "Units", "amount", "bare_amount", "both_ways", "coarse_amount", "coarse_place", "counted",
    "fine_amount", "others", "place", "small_unit", "station",
]  # fmt: skip

Units = Literal["mm", "in"]

LEAST_MOVE_MM = 0.0005  # below this a move along the axis is rounding
_AMOUNT_DECIMALS = {"mm": 3, "thou": 1}  # what a micrometer or a feeler tells
_PLACE_DECIMALS = {"mm": 1, "in": 2}  # what a rule laid along the bed can find
_COARSE_AMOUNT_DECIMALS = {"mm": 2, "thou": 0}  # what a fault is known to: it is of tenths of a mm
_COARSE_PLACE_DECIMALS = {"mm": 0, "in": 2}  # which reading it is, or the middle of a swelling of inches
_UNKNOWN = "not known"


def place(value_mm: float, units: Units) -> str:
    """A station along the axis [mm] as bare digits in `units`, as fine as it can be found by rule."""
    return _digits(from_mm(value_mm, units), _PLACE_DECIMALS[units])


def station(value_mm: float, units: Units) -> str:
    """A station with its axis and unit, for a sentence: `z 412.0 mm` or `z 16.22 in`."""
    return f"z {place(value_mm, units)} {units}"


def small_unit(units: Units) -> str:
    """The unit of small amounts: thou beside inches, mm otherwise."""
    return "thou" if units == "in" else "mm"


def amount(value_mm: float, units: Units, *, signed: bool = False) -> str:
    """A small distance per side [mm] with its unit: thou for inch users, mm otherwise."""
    if not math.isfinite(value_mm):
        return _UNKNOWN
    return f"{bare_amount(value_mm, units, signed=signed)} {small_unit(units)}"


def bare_amount(value_mm: float, units: Units, *, signed: bool = False) -> str:
    """The digits of an amount [mm], where its unit stands beside: in a list or at the head of a column."""
    unit = small_unit(units)
    return _digits(from_mm(value_mm, unit), _AMOUNT_DECIMALS[unit], signed=signed)


def fine_amount(value_mm: float, units: Units, *, signed: bool = False) -> str:
    """The digits of a gauge's own error [mm], one finer than an amount's."""
    unit = small_unit(units)
    return f"{from_mm(value_mm, unit):{'+' if signed else ''}.{_AMOUNT_DECIMALS[unit] + 1}f}"


def coarse_amount(value_mm: float, units: Units, *, signed: bool = False) -> str:
    """The size of a fault [mm] with its unit, no finer than such a fault is known."""
    unit = small_unit(units)
    return f"{_digits(from_mm(value_mm, unit), _COARSE_AMOUNT_DECIMALS[unit], signed=signed)} {unit}"


def coarse_place(value_mm: float, units: Units) -> str:
    """About where such a fault sits, along arc or axis [mm], with its unit."""
    return f"{_digits(from_mm(value_mm, units), _COARSE_PLACE_DECIMALS[units])} {units}"


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


def counted(number: int, name: str) -> str:
    """A count with its noun: `1 batch`, `4 bells`."""
    return f"{number} {name}{'' if number == 1 else 'es' if name.endswith('ch') else 's'}"
