"""Readings held against those beside them on their own sheet, and how far they usually are from them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.normal_errors import MAD_TO_SD

__all__ = ["NEIGHBOURS", "less_neighbours", "medians", "usual_near"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.integer[Any]]

_PLACE = 31  # readings nearest along the steel whose median says what is usual there; enough for a median
NEIGHBOURS = 2  # readings to either side on the sheet: their median is not moved by one more slip
_FEWEST_ON_SHEET = 4  # readings of a sheet that can say anything of one of them; itself and three that make a median


def medians(values: Floats) -> Floats:
    """Median of each row's finite values; NaN where there are none."""
    ordered = np.sort(values, axis=1)
    count = np.isfinite(ordered).sum(axis=1)
    row = np.arange(len(ordered))
    middle = (
        ordered[row, np.maximum(count - 1, 0) // 2]
        + ordered[row, np.minimum(count // 2, values.shape[1] - 1)]
    ) / 2
    return np.where(count > 0, middle, np.nan)


def less_neighbours(level: Floats, station: Floats, number: Numbers) -> Floats:
    """`level` less what its neighbours on the sheet have, itself left out; NaN where there are too few.

    Of their median and the line through the two next to it the one that bears it out better; nothing where they differ
    in sign. A level of infinity is none: nothing is said by it.
    """
    size = np.bincount(number + 1, minlength=1)[number + 1]  # -1: readings of no gauge
    place = np.arange(len(level))
    beside = []
    for step in (n for n in range(-NEIGHBOURS, NEIGHBOURS + 1) if n):
        other = np.clip(place + step, 0, len(level) - 1)
        same = (number[other] == number) & (other == place + step)
        beside.append(np.where(same, level[other], np.inf))
    away = np.where(size >= _FEWEST_ON_SHEET, level - medians(np.column_stack(beside)), np.nan)
    before, after = np.clip(place - 1, 0, None), np.clip(place + 1, None, len(level) - 1)
    inside = (number[before] == number) & (number[after] == number) & (before < place) & (place < after)
    inside &= station[before] < station[after]
    width = np.where(inside, station[after] - station[before], 1.0)
    share = (station - station[before]) / width
    with np.errstate(invalid="ignore"):
        by_line = level - (1 - share) * level[before] - share * level[after]
        better = np.where(away * by_line > 0, np.where(np.abs(by_line) < np.abs(away), by_line, away), 0.0)
    inside &= np.isfinite(by_line)
    return np.where(inside & np.isfinite(away), better, away)


def usual_near(away: Floats, station: Floats) -> Floats:
    """Standard deviation of how far readings are `away` near the place of each, by the median; no less than half that
    of all. Arrays (n,) in any order, all finite."""
    usual = np.zeros(len(away))
    if len(away):
        order = np.argsort(station, kind="stable")
        near = pd.Series(np.abs(away[order])).rolling(_PLACE, center=True, min_periods=_PLACE // 3).median()
        usual[order] = np.fmax(near.to_numpy(float), float(np.median(np.abs(away))) / 2)
    return usual * MAD_TO_SD
