"""Rings that stand off the bell where nothing beside them does: no metal does that, whatever other sheets say.

A ridge or a swelling lifts the sheet off the steel over a few bending lengths, some sqrt(r t) = 2 to 5 mm each, and is
seen at the stations beside it; a size that was read wrongly, or set wrongly for every bell of a batch, is not. Readings
of one ring are looked at together: both may be of the one wrong size.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from springfit.records.checks.slips.sheet_neighbours import less_neighbours

__all__ = ["off_alone"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.integer[Any]]
Flags = NDArray[np.bool_]

_ONE_RING_MM = 0.6  # between stations set by hand for one ring; as a hand sets a rule twice; by judgement
# Springback strains brass by 0.45 % at most: it lifts a ring of 60 mm radius by 0.27 mm, a tube by 0.05. Of the ridges
# and swellings in the demo and the sample shops none stands further than 0.2 mm off the stations beside it; a lower
# jump may be one at this station alone.
_LEAST_MM = 0.3
_TIMES = 8.0  # the usual: on a steep rim bells differ by more than that; by judgement
# Of the distance from other bells: ridges and swellings there are seen at the stations beside by 0.45 to 0.6 of it.
_ALONE = 0.75
_INSIDE = 2  # rings to either side: a rim gapes within a few mm of its edge, past which nothing is read


def off_alone(level: Floats, station: Floats, sheet: Numbers, away: Floats, sd: Floats) -> Floats:
    """How far [mm] the ring of each reading stands off so, NaN where it does not; arrays (n,) by sheet and station.

    level: the gap less that of other bells there; away: how far from its neighbours; sd: usual there, all [mm].
    """
    first = np.append(True, (np.diff(sheet) != 0) | (np.diff(station) > _ONE_RING_MM))[: len(level)]
    ring, begin = np.cumsum(first) - 1, np.flatnonzero(first)
    if not len(begin):
        return np.zeros(0)
    count = np.bincount(ring)
    mean, place = (np.bincount(ring, values) / count for values in (level, station))
    # A trace is one long ring by this rule, and none.
    length = np.append(station[begin[1:] - 1], station[-1]) - station[begin]
    known = (length <= 2 * _ONE_RING_MM) & _is_inside(sheet[begin])
    of_ring = np.where(known, less_neighbours(mean, place, sheet[begin]), np.nan)[ring]
    off = np.where(known[ring] & (count[ring] == 1), away, of_ring)
    far = np.nan_to_num(np.abs(off))
    alone = (far > _ALONE * np.abs(level)) & (off * level > 0)
    return np.where((far > _LEAST_MM) & (far > _TIMES * sd) & alone, off, np.nan)


def _is_inside(sheet: Numbers) -> Flags:
    """Which rings have others of their sheet to either side."""
    padded = np.pad(sheet, _INSIDE, constant_values=-1)
    return (padded[2 * _INSIDE :] == sheet) & (padded[: len(sheet)] == sheet)
