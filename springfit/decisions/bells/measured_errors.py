"""What was measured, as a table: the error of every batch at every station, with the forecast beside it."""

from __future__ import annotations

import numpy as np
import pandas as pd

from springfit.decisions.bells.own_bells import OwnBells
from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.geometry.seating import nearest_point

__all__ = ["MEASURED_COLUMNS", "measured_errors", "nothing_measured"]

MEASURED_COLUMNS = (
    "batch_id", "spun_on", "revision", "bells", "z_mm", "s_mm", "slope_rad", "measured_error_mm", "sd_mm",
    "forecast_error_mm", "used", "unlike",
)  # fmt: skip


def nothing_measured() -> pd.DataFrame:
    """The table of a mandrel without bells of its own."""
    return pd.DataFrame(columns=list(MEASURED_COLUMNS))


def measured_errors(bells: OwnBells, mandrel: Meridian, target: Meridian, forecast_error: FloatArray) -> pd.DataFrame:
    """A row a batch and station, oldest batch first, tail to rim: the mean of its bells against the target on the steel
    as it is now, seat taken out, one standard deviation of that mean, and the error (n,) forecast on `mandrel` [mm].

    unlike: in what a batch differs from what is asked for, for which it is not used.
    """
    steel = nearest_point(target, mandrel.z, mandrel.r)[1]
    rows = []
    for batch in bells.batches:
        at = batch.profile.at
        s = np.minimum(bells.arc[at], mandrel.length)
        sd = np.hypot(batch.profile.own_sd, batch.profile.shared_sd)
        rows.append(
            pd.DataFrame(
                {
                    "batch_id": batch.batch_id, "spun_on": batch.spun_on, "revision": batch.revision,
                    "bells": batch.bells, "z_mm": bells.z[at], "s_mm": s, "slope_rad": mandrel.at(s).slope,
                    "measured_error_mm": batch.profile.gap + np.interp(s, mandrel.s, steel),
                    "sd_mm": sd, "forecast_error_mm": np.interp(s, mandrel.s, forecast_error),
                    "used": batch.used, "unlike": ", ".join(batch.unlike),
                }
            )
        )  # fmt: skip
    if not rows:
        return nothing_measured()
    table = pd.concat(rows, ignore_index=True)
    return table[np.isfinite(table["measured_error_mm"])].reset_index(drop=True)
