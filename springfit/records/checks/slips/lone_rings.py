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
# Springback strains brass by 0.45 % at most, and lifts a ring by so much of its radius; 4 % of that the sheet dips
# beside it. Less than 0.1 mm is not looked at. Of 190 000 sound readings in the demo, the sample shops and nineteen
# books of invented shops ten stand alone by more.
_LIFTED, _LEAST_MM = 0.0047, 0.1
# Passes toward the tail swell a throat by more than that, over two inches or four: 12 mm is 1 sd of the narrowest, and
# 15 mm from its top half of it is left. Further apart two stations may have such a swelling between them: of the ridges
# and swellings in the demo and the sample shops none stands further than 0.2 mm off the stations beside it.
_SEEN_MM, _UNSEEN_MM = 15.0, 0.3
_TIMES = 8.0  # the usual: on a steep rim bells differ by more than that; by judgement
# Of the distance from other bells: ridges and swellings there are seen at the stations beside by 0.45 to 0.6 of it.
_ALONE = 0.75
_INSIDE = 2  # rings to either side: a rim gapes within a few mm of its edge, past which nothing is read


def off_alone(
    level: Floats, station: Floats, sheet: Numbers, away: Floats, sd: Floats, radius: Floats
) -> Floats:
    """How far [mm] the ring of each reading stands off so, NaN where it does not; arrays (n,) by sheet and station.

    level: the gap less that of other bells there; away: how far from its neighbours; sd: usual there; radius: of the
    steel there, all [mm].
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
    # With one of its two readings wrong a ring is off by half of it, and the other reading is not.
    own = np.where(count[ring] == 1, off, off + level - mean[ring])
    far = np.nan_to_num(np.where(own * off > 0, np.minimum(np.abs(off), np.abs(own)), 0.0))
    alone = (far > _ALONE * np.abs(level)) & (off * level > 0)
    by_springback = np.clip(_LIFTED * radius, _LEAST_MM, _UNSEEN_MM)
    least = np.where((_reach(place, sheet[begin]) <= _SEEN_MM)[ring], by_springback, _UNSEEN_MM)
    return np.where((far > least) & (far > _TIMES * sd) & alone, off, np.nan)


def _reach(place: Floats, sheet: Numbers) -> Floats:
    """How far [mm] the farther of the two rings beside each is; infinite at either end of a sheet."""
    apart = np.where(np.diff(sheet) == 0, np.diff(place), np.inf)
    return np.maximum(np.append(np.inf, apart), np.append(apart, np.inf))


def _is_inside(sheet: Numbers) -> Flags:
    """Which rings have others of their sheet to either side."""
    padded = np.pad(sheet, _INSIDE, constant_values=-1)
    return (padded[2 * _INSIDE :] == sheet) & (padded[: len(sheet)] == sheet)
