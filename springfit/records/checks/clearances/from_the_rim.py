"""Clearances whose stations were counted from the rim: where no other batch's are, and all among them once turned."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.records.checks.others_median import others_median
from springfit.records.checks.rough_gaps import MandrelProfile
from springfit.records.reading_kinds import z_from_tail

__all__ = ["from_the_rim"]

Floats = NDArray[np.float64]

_FEWEST_OTHERS = 3  # sheets on the mandrel that show where clearances are read; one or two may be odd themselves
_REACH_MM = 5.0  # past those places: a shop's stations differ by as much from one batch to the next
_MOST = 0.75  # of the stations that lie where others' do not ...; assumed
_SOME = 0.5  # ... or of so many, where the clearances also grow the other way; assumed
# Rank correlation of clearance with station: a bell is tight toward the tail and gapes toward its rim; assumed
_GROWS = 0.5
_CLEARLY = 0.8  # the same, where stations say nothing; assumed
_LEAST_MM = 0.1  # between the smallest and the largest clearance: four leaves, more than a feeler errs


def from_the_rim(rows: pd.DataFrame, of: Mapping[tuple[str, int], MandrelProfile]) -> set[int]:
    """Numbers of such sheets (`rows` as `clearance_sheets` has them)."""
    found: set[int] = set()
    for _, some in rows.groupby("mandrel_id", sort=False):
        z = some.groupby("sheet")["z_mm"]
        low, high = z.min(), z.max()
        if len(low) <= _FEWEST_OTHERS:
            continue
        grows = _growths(some).reindex(low.index)
        usual = pd.DataFrame({"low": low, "high": high}, dtype=float).apply(others_median, raw=True)
        rising = grows.dropna()
        grow = float(rising.median()) if len(rising) > _FEWEST_OTHERS else np.nan
        may_be = (low < usual["low"] - _REACH_MM) | (high > usual["high"] + _REACH_MM) | (grows < -_CLEARLY)
        for sheet in low.index[may_be]:
            mine = some[some["sheet"] == sheet]
            steel = of[str(mine["mandrel_id"].iloc[0]), int(mine["revision"].iloc[0])]
            bounds = float(usual["low"][sheet]) - _REACH_MM, float(usual["high"][sheet]) + _REACH_MM
            if _turned(mine, steel, bounds, float(grows[sheet]), grow):
                found.add(int(sheet))
    return found


def _turned(
    mine: pd.DataFrame, steel: MandrelProfile, bounds: tuple[float, float], grows: float, usually: float
) -> bool:
    """Whether the sheet's stations fit between the others' `bounds` [mm] only once they are counted from the rim."""
    z = mine["z_mm"].to_numpy(float)
    outside = float(np.mean((z < bounds[0]) | (z > bounds[1])))
    rim = steel.rim_station(float(mine["rim_mm"].iloc[0]), float(mine["wall_mm"].iloc[0]))
    ends = [end for end in (rim, float(steel.z[-1])) if np.isfinite(end)]
    turned = [z_from_tail("rim", z, end) for end in ends]
    fits = any(bool(((there >= bounds[0]) & (there <= bounds[1])).all()) for there in turned)
    other_way = grows <= -_GROWS and usually >= _GROWS
    clearly = grows <= -_CLEARLY and usually >= _CLEARLY
    return fits and (outside >= _MOST or (outside >= _SOME and other_way) or clearly)


def _growths(some: pd.DataFrame) -> pd.Series:
    """Rank correlation of clearance with station, of each sheet whose clearances differ enough."""
    value = some["value_mm"].groupby(some["sheet"])
    differ = (value.transform("max") - value.transform("min")) >= _LEAST_MM
    kept = some[differ & (value.transform("size") > _FEWEST_OTHERS)]
    number = kept["sheet"]
    ranks = kept[["z_mm", "value_mm"]].groupby(number).rank()
    off = ranks - ranks.groupby(number).transform("mean")
    both = (off["z_mm"] * off["value_mm"]).groupby(number).sum()
    spread = [(off[name] ** 2).groupby(number).sum() for name in off]
    return both / np.sqrt(spread[0] * spread[1])
