"""Several changes of one bell joined from the forecasts of each alone, until they are worked out together.

To first order changes add: gap = present + sum of (changed alone - present). What changes do to one another is left
out, so a joined forecast is marked as one, has the widest band of its parts and the bands of the differences added,
and is replaced by the forecast of all changes together as soon as that is known. Each difference, and its band, is the
joint forecast of the present bell and the changed one (`learning.compared_bells`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Changes", "Joined", "ToldBell", "joined"]

Floats = NDArray[np.float64]
Changes = frozenset[tuple[str, str]]  # slider and value; empty: the bell as it is spun now


@dataclass(frozen=True)
class ToldBell:
    """A forecast at stations `z` (n,) [mm] of its mandrel: `gap`, and `low` and `high` of one new bell's band [mm]; and
    at the stations of the present bell its `change` from that one, with the half width `change_half` of its band."""

    z: Floats
    gap: Floats
    low: Floats
    high: Floats
    change: Floats
    change_half: Floats
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Joined:
    """A `bell` answered for several changes; `exact` when they were worked out together, `missing` those of which
    nothing is known yet and which are left out of it."""

    bell: ToldBell
    exact: bool
    missing: tuple[tuple[str, str], ...] = ()


def joined(known: Mapping[Changes, ToldBell], changes: Changes) -> Joined | None:
    """What is known of a bell with all `changes`; None before the bell as it is spun now is known."""
    if changes in known:
        return Joined(known[changes], exact=True)
    present = known.get(frozenset())
    if present is None:
        return None
    alone = {change: known.get(frozenset({change})) for change in sorted(changes)}
    change, half = present.change.copy(), present.change_half.copy()
    below, above = present.gap - present.low, present.high - present.gap
    for bell in alone.values():
        if bell is not None:
            change, half = change + bell.change, half + bell.change_half
            below = np.maximum(below, _at(present.z, bell.z, bell.gap - bell.low))
            above = np.maximum(above, _at(present.z, bell.z, bell.high - bell.gap))
    gap = present.gap + change
    missing = tuple(one for one, bell in alone.items() if bell is None)
    told = ToldBell(present.z, gap, gap - below, gap + above, change, half, present.notes)
    return Joined(told, False, missing)


def _at(wanted: Floats, z: Floats, values: Floats) -> Floats:
    """Values at the same share of the bell's length: a moved flare has its stations moved with it."""
    share = (wanted - wanted[0]) / (wanted[-1] - wanted[0])
    return np.interp(share, (z - z[0]) / (z[-1] - z[0]), values)
