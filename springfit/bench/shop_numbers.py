"""Numbers as a shop says them: fractions of an inch where they are some, thou for what is small."""

from __future__ import annotations

import math
from fractions import Fraction

from springfit.lengths import from_mm
from springfit.reporting.wording.length_wording import Units, small_unit

__all__ = ["bare_small_size", "shop_number", "shop_size", "small_size", "unit_of_reading"]

# Parts of an inch that a shop speaks of; common practice, no source. The finest rules have 128ths, so `lengths` reads
# them, and here they are written in decimals.
_FINEST = 64
_NEAR_IN = 2e-6  # of a mark: a size kept in mm or in five decimals of an inch is still that mark


def shop_number(value_mm: float, unit: str) -> str:
    """A length [mm] in `unit` as it is written down: `2-3/8`, `0.018`, `12.7`."""
    if not math.isfinite(value_mm):
        return ""
    value = from_mm(value_mm, unit)
    if unit == "in":
        near = Fraction(value).limit_denominator(_FINEST)
        if abs(float(near) - value) < _NEAR_IN and near.denominator in (1, 2, 4, 8, 16, 32, 64):
            return _fraction(near)
    return f"{round(value, 6):.7g}"


def shop_size(value_mm: float, unit: str) -> str:
    """A size [mm] as it is spoken of: to a thousandth of an inch, or to a hundredth of a millimetre."""
    return f"{from_mm(value_mm, unit):.{3 if unit == 'in' else 2}f}"


def small_size(value_mm: float, units: Units) -> str:
    """A small distance [mm] with its unit: to a tenth of a thou, or to a hundredth of a millimetre; empty for nan."""
    return f"{bare_small_size(value_mm, units)} {small_unit(units)}" if math.isfinite(value_mm) else ""


def bare_small_size(value_mm: float, units: Units) -> str:
    """The digits of a small distance [mm], where its unit stands beside."""
    unit = small_unit(units)
    return f"{from_mm(value_mm, unit):.{1 if unit == 'thou' else 2}f}"


def unit_of_reading(kind: str, units: str) -> str:
    """The unit that a reading of `kind` is typed in: feelers are marked in thou where the book is in inches."""
    return "thou" if units == "in" and kind == "clearance" else units


def _fraction(value: Fraction) -> str:
    sign, value = ("-" if value < 0 else ""), abs(value)
    whole, part = divmod(value.numerator, value.denominator)
    if not part:
        return f"{sign}{whole}"
    return f"{sign}{whole}-{part}/{value.denominator}" if whole else f"{sign}{part}/{value.denominator}"
