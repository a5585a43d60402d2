"""Yield from a hardness reading, for sheet whose temper nobody wrote down.

Cahoon, Broughton & Kutzak (1971), stated for cold-rolled brass: sigma_0.2 = (H/3) 0.1^n, H in kgf/mm^2 and n
the strain-hardening exponent; the flow stress at 8 % strain is H/2.9 (Tabor). The plain H/3 is wrong for
annealed brass: by the Copper Development Association's Publication 120 it is 1.8 times the proof stress of
annealed 70/30 and 1.2 of hard.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["HardnessYield", "flow_at_eight_percent", "yield_from_hardness"]

Array = NDArray[np.float64]

GRAVITY = 9.80665  # MPa in one kgf/mm^2, standard gravity
UNCERTAINTY = 0.15  # of the map, one figure for annealed to hard, judged from the rows of Publication 120


class HardnessYield(NamedTuple):
    """Yield by 0.2 % offset [MPa] with the low and high of the map's own uncertainty."""

    value: Array
    low: Array
    high: Array


def yield_from_hardness(vickers: ArrayLike, *, hardening_exponent: ArrayLike) -> HardnessYield:
    """0.2 % offset yield from a Vickers number [kgf/mm^2]; n is about 0.5 annealed, 0.05 hard [-]."""
    n = np.asarray(hardening_exponent, dtype=float)
    if not ((n >= 0) & (n < 1)).all():
        raise ValueError(f"hardening_exponent: found {np.max(n)}, expected 0 up to 1")
    value: Array = _checked(vickers) * GRAVITY / 3 * 0.1**n
    return HardnessYield(value, value * (1 - UNCERTAINTY), value * (1 + UNCERTAINTY))


def flow_at_eight_percent(vickers: ArrayLike) -> Array:
    """Flow stress at 8 % strain [MPa], H/2.9 (Tabor)."""
    return _checked(vickers) * GRAVITY / 2.9


def _checked(vickers: ArrayLike) -> Array:
    hardness = np.asarray(vickers, dtype=float)
    if not (hardness > 0).all():
        raise ValueError(f"vickers: found {np.min(hardness)}, expected more than 0")
    return hardness
