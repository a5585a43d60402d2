"""The station table of a correction: every size at one z, every amount per side along the normal."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.decisions.cut_tables.turning_sizes import radius_at_z
from springfit.decisions.forecast import Forecast
from springfit.decisions.verdict.questions import Case, Decision
from springfit.geometry.meridian import Meridian, offset
from springfit.geometry.points import FloatArray
from springfit.normal_errors import BAND_LEVEL

__all__ = ["STATION_COLUMNS", "station_table"]

FURTHEST_MM = 1.0  # of arc between rows; a z read between two of them is a straight line's; assumed

STATION_COLUMNS = (
    "z_mm",
    "diameter_mm",
    "cut_now_diameter_mm",
    "do_not_pass_diameter_mm",
    "present_diameter_mm",
    "target_diameter_mm",
    "error_mm",
    "error_steel_mm",
    "error_springback_mm",
    "error_unexplained_mm",
    "error_lo_mm",
    "error_hi_mm",
    "sure_removal_mm",
    "bells_error_mm",
    "bells_sd_mm",
    "masked",
    "s_mm",
    "slope_rad",
    "trust",
)


def station_table(case: Case, decision: Decision, target: Meridian, forecast: Forecast) -> pd.DataFrame:
    """One row a station of the present mandrel, tail to rim, at most 1 mm apart along the arc.

    forecast: of the bell; nothing is ordered to be cut past its rim. Sizes past the target's ends are NaN.
    """
    mandrel, split = case.mandrel, case.split
    ordered, present = mandrel.s <= forecast.meridian.length, 2.0 * mandrel.r
    low, high = split.band(BAND_LEVEL)
    columns: dict[str, object] = {
        "z_mm": mandrel.z,
        "diameter_mm": _diameter(case.inverse.mandrel, mandrel.z),
        "cut_now_diameter_mm": np.where(ordered, _diameter(offset(mandrel, -decision.cut_mm), mandrel.z), present),
        "do_not_pass_diameter_mm": np.where(
            ordered, _diameter(offset(mandrel, -decision.most_mm), mandrel.z), present
        ),
        "present_diameter_mm": present,
        "target_diameter_mm": _diameter(target, mandrel.z),
        "error_mm": split.error,
        "error_steel_mm": split.steel,
        "error_springback_mm": split.springback,
        "error_unexplained_mm": split.unexplained,
        "error_lo_mm": low,
        "error_hi_mm": high,
        "sure_removal_mm": np.where(np.isfinite(decision.sure_mm), decision.sure_mm, np.nan),
        "bells_error_mm": _of_bells(case, "error"),
        "bells_sd_mm": _of_bells(case, "sd"),
        "masked": ~case.open,
        "s_mm": mandrel.s,
        "slope_rad": mandrel.slope,
        "trust": forecast.trust_at(mandrel.s),
    }
    table = pd.DataFrame(columns, columns=list(STATION_COLUMNS))
    return table.iloc[_rows_to_keep(mandrel.s)].reset_index(drop=True)


def _of_bells(case: Case, name: str) -> FloatArray:
    """What the mandrel's own bells say at every station (n,) [mm]; NaN where none was read."""
    bells = case.bells
    if bells is None or not bells.speaks:
        return np.full(case.mandrel.s.size, np.nan)
    return np.where(bells.read, getattr(bells, name), np.nan)


def _diameter(line: Meridian, z: FloatArray) -> FloatArray:
    """Diameter [mm] of a line at `z`; NaN more than 1 mm past its ends."""
    return 2.0 * radius_at_z(line, z)


def _rows_to_keep(s: FloatArray) -> NDArray[np.intp]:
    """Indices of rows no more than 1 mm apart where the stations allow it, both ends among them."""
    kept = [0]
    for i in range(1, s.size - 1):
        if s[i + 1] - s[kept[-1]] > FURTHEST_MM + 1e-9:
            kept.append(i)
    return np.array([*kept, s.size - 1])
