"""Stretches of a bell: masked rows, rows that are cut, where a run of rows begins and ends."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from springfit.flag_runs import runs_of_true
from springfit.reporting.wording.length_wording import Units, place
from springfit.watching.batches.bell_zones import RIM_DEG, TAIL_DEG, THROAT_DEG

__all__ = ["is_cut", "is_masked", "stretches", "zone_of"]

_ZONES = ((TAIL_DEG, "tail"), (THROAT_DEG, "throat"), (RIM_DEG, "flare"))  # up to this slope in degrees
_LEAST_CUT = 0.0005  # mm per side: below this a cut is rounding


def is_masked(stations: pd.DataFrame) -> npt.NDArray[np.bool_]:
    """Rows nothing is said about, from the column `masked` (yes or no, or the reason in words)."""
    return np.array([_says_yes(value) for value in stations["masked"]], dtype=bool)


def is_cut(stations: pd.DataFrame) -> npt.NDArray[np.bool_]:
    """Rows where the cautious cut takes steel off the present mandrel."""
    taken = (stations["present_diameter_mm"] - stations["cut_now_diameter_mm"]).to_numpy(float) / 2.0
    return np.nan_to_num(taken) > _LEAST_CUT


def stretches(z_mm: npt.NDArray[np.float64], flags: npt.NDArray[np.bool_], units: Units) -> str:
    """The flagged stretches in words: `z 0.0 to 12.0 and z 420.1 to 431.0`; empty without a flag."""
    said = [
        f"z\u00a0{place(z_mm[first], units)} to {place(z_mm[last], units)}" for first, last in runs_of_true(flags)
    ]
    return " and ".join(said)


def zone_of(slope_rad: float) -> str:
    """The zone of a place of this slope: tail, throat, flare or rim."""
    degrees = math.degrees(slope_rad)
    return next((name for steepest, name in _ZONES if degrees <= steepest), "rim")


def _says_yes(value: Any) -> bool:
    """Whether a cell of `masked` masks its row: true, or any reason in words."""
    if isinstance(value, str):
        return value.strip().lower() not in ("", "false", "no", "none")
    return bool(value) and value == value  # NaN is not a yes
