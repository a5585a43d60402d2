"""Which steel each batch, bell and reading belongs to: the revision in force on the day, and where a station lies."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

__all__ = ["bells_on_steel", "steel_ends"]


def bells_on_steel(batches: pd.DataFrame, bells: pd.DataFrame) -> pd.DataFrame:
    """One row a bell, indexed by `bell_id`: its mandrel and revision, its wall (else its batch's), rims and witness.

    `batches` must have `revision` filled in. Rows with blank or repeated ids are left out.
    """
    of_batch = batches.dropna(subset=["batch_id"]).drop_duplicates("batch_id").set_index("batch_id")
    known = bells.dropna(subset=["bell_id"]).drop_duplicates("bell_id").set_index("bell_id")
    wanted = ["mandrel_id", "revision", "wall_mm", "blank_rim_mm", "finished_rim_mm"]
    steel = of_batch[wanted].reindex(known["batch_id"].to_numpy(dtype=object)).set_index(known.index)
    steel["wall_mm"] = known["wall_mm"].fillna(steel["wall_mm"])
    steel["batch_id"] = known["batch_id"]
    steel["witness_z_mm"] = known["witness_z_mm"]
    return steel


def steel_ends(mandrel_profile: pd.DataFrame) -> Mapping[tuple[str, float], tuple[float, float]]:
    """First and last station [mm] of every (mandrel_id, revision)."""
    ends = mandrel_profile.groupby(["mandrel_id", "revision"])["z_mm"].agg(["min", "max"])
    return {
        (str(mandrel), float(revision)): (low, high)
        for (mandrel, revision), low, high in zip(
            ends.index, np.asarray(ends["min"]), np.asarray(ends["max"]), strict=True
        )
    }
