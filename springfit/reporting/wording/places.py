"""What stands at a station: the judged row beside it, the diameter of the steel there, what an error is across it."""

from __future__ import annotations

import numpy as np
import pandas as pd

from springfit.reporting.wording.zones import is_masked

__all__ = ["across_words", "diameter_at", "row_at"]

_MOST_TIMES = 20.0  # of an amount: on a line steeper than 84 degrees no caliper holds a z, and no number helps; assumed


def row_at(stations: pd.DataFrame, z_mm: float) -> int:
    """Index of the judged row nearest to the station `z_mm` [mm]; of any row when none is judged."""
    away = np.abs(stations["z_mm"].to_numpy(float) - z_mm)
    masked = is_masked(stations)
    return int(np.nanargmin(away if masked.all() else np.where(masked, np.inf, away)))


def diameter_at(stations: pd.DataFrame, z_mm: float) -> float:
    """Diameter [mm] of the present steel at the station `z_mm` [mm]."""
    return float(np.interp(z_mm, stations["z_mm"], stations["present_diameter_mm"]))


def across_words(stations: pd.DataFrame) -> str:
    """How much more than an amount per side, square to the surface, a diameter at one z shows of it, tail and rim."""
    masked = is_masked(stations)
    slope = stations["slope_rad"].to_numpy(float)[slice(None) if masked.all() else ~masked]
    least = float(np.cos(np.clip(np.max(slope), 0.0, np.pi / 2.0)))
    most = f"{2.0 / least:.0f}" if least > 2.0 / _MOST_TIMES else "many"
    rim = f", {most} times at the rim" if most != "2" else ""
    return f"square to the surface: a diameter at one z shows it twice on the tail{rim}"
