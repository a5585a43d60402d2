"""Readings of one ring at several angles, each held against what the rings beside it show between those angles.

Angles of one ring share its station: what a hand errs along a steep flare, where a reading alone shows no slip, they
err alike. An oval bell is as oval on the next ring. What is left of their difference is the gauge, or one is wrong.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.normal_errors import MAD_TO_SD
from springfit.records.checks.rough_gaps import SHEET
from springfit.records.checks.slips.sheet_neighbours import NEIGHBOURS, less_neighbours, usual_near

__all__ = ["LEAST_OFF_MM", "by_placing", "off_by_angle"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.integer[Any]]

# Of diameter. In the demo, the sample shops and nineteen books of invented shops (80 000 rings) no sound reading is off
# by more than 0.09 mm, nor by more than seven times the usual of its book.
LEAST_OFF_MM = 0.15
_TIMES = 8.0
_STEEP = 0.5  # mm of diameter a mm of station, 14 degrees: where a rule set anew for each angle shows beside a gauge
# Readings there of one gauge, and the share of them at the steepest places, that show whether it is: a gauge's own
# error seems the less of a station's, the steeper they are. The median of fewer is a few.
_FEWEST_STEEP, _STEEPEST = 10, 0.25


def off_by_angle(read: pd.DataFrame, ring: pd.Series) -> pd.Series:
    """How far [mm of diameter] each reading is off the others of its `ring` beyond what the rings beside it show, where
    that is more than sound ones are; nought elsewhere. The sign is the reading's own.

    read: in the order of sheets, with `code` and `slope` [rad] of the steel, kind, `gauge_id`, `angle_deg`,
    `station_mm`, `value_mm`.
    """
    found = pd.Series(0.0, index=read.index)
    rows = read[_at_several_angles(read, ring)]
    if not len(rows):
        return found
    number = ring[rows.index]
    of_ring = rows.groupby(number)
    count, value = of_ring["value_mm"].transform("size"), rows["value_mm"]
    differ = value - (of_ring["value_mm"].transform("sum") - value) / (count - 1)
    alike = count, of_ring["angle_deg"].transform("sum"), rows["angle_deg"]  # a ring at other angles shows other lobes
    track = rows.groupby([*(rows[name] for name in (*SHEET, "gauge_id")), *alike], sort=False).ngroup()
    order = np.lexsort((rows["station_mm"], track))
    station, of_track = rows["station_mm"].to_numpy(float)[order], track.to_numpy()[order]
    level, off, beside = differ.to_numpy(float)[order], np.empty(len(rows)), np.empty(len(rows))
    off[order] = less_neighbours(level, station, of_track)
    usual = np.fmax(_usual(rows, off), _of_own_track(off, track.to_numpy()))
    least = np.fmax(LEAST_OFF_MM, _TIMES * usual)
    # What stands beside the farthest of some rings is not judged by it.
    far = (np.abs(off) > least)[order] & _is_farthest(off[order], of_track)
    beside[order] = less_neighbours(np.where(far, np.inf, level), station, of_track)
    off[order] = np.where(far, off[order], beside[order])
    found[rows.index] = np.where(np.abs(off) > least, off, 0.0)
    return found


def _is_farthest(off: Floats, track: Numbers) -> NDArray[np.bool_]:
    """Which are off by as much as any that they are judged by, by track and station."""
    size = np.nan_to_num(np.abs(off))
    farthest = np.ones(len(off), dtype=bool)
    for step in range(1, NEIGHBOURS + 1):
        alike = track[step:] == track[:-step]
        farthest[step:] &= ~alike | (size[step:] >= size[:-step])
        farthest[:-step] &= ~alike | (size[:-step] >= size[step:])
    return farthest


def _at_several_angles(read: pd.DataFrame, ring: pd.Series) -> pd.Series:
    """Which readings are of a ring that was read at several angles, each known, none of them twice."""
    angles = read["angle_deg"].groupby(ring)
    each = angles.transform("nunique")
    return ring.notna() & (each > 1) & (each == angles.transform("size"))


def by_placing(size: Floats, slope: Floats) -> Floats:
    """What differences of `size` [mm of diameter] on one ring usually are at each `slope` [rad], standard deviation, as
    far as they grow with it: a hand that sets its rule anew for each angle errs so. Nought where it is gentle, NaN
    where too few are steep to show it."""
    rise = 2 * np.tan(np.abs(slope))
    known = np.flatnonzero((rise > _STEEP) & np.isfinite(size))
    most = max(_FEWEST_STEEP, int(_STEEPEST * len(known)))
    steepest = known[np.argsort(-rise[known], kind="stable")[:most]]
    placed = float(np.median(np.abs(size[steepest]) / rise[steepest])) if len(known) >= _FEWEST_STEEP else np.nan
    return np.where(rise > _STEEP, placed * MAD_TO_SD * rise, 0.0)


def _usual(rows: pd.DataFrame, off: Floats) -> Floats:
    """Standard deviation of what readings of that gauge are off by near the place on that steel [mm]; infinite where
    nobody can say. By their median alone, the last stations of a rim would seem as sure as those before."""
    usual = np.zeros(len(rows))
    station, slope = (rows[name].to_numpy(float) for name in ("station_mm", "slope"))
    for at in rows.groupby(["kind", "gauge_id"], sort=False).indices.values():
        usual[at] = np.nan_to_num(by_placing(off[at], slope[at]), nan=np.inf)
    for at in rows.groupby(["code", "kind", "gauge_id"], sort=False).indices.values():
        known = at[np.isfinite(off[at])]
        usual[known] = np.maximum(usual[known], usual_near(off[known], station[known]))
    return usual


def _of_own_track(off: Floats, track: Numbers) -> Floats:
    """The same of its own bell at that angle: one that was dented is off on many rings."""
    return pd.Series(np.abs(off)).groupby(track).transform("median").to_numpy(float) * MAD_TO_SD
