"""The cut table as a hand at the lathe works from it: round sizes, never rounded into the steel."""

from __future__ import annotations

import numpy as np
import pandas as pd

from springfit.lengths import MM_PER_UNIT
from springfit.reporting.wording.length_wording import Units

__all__ = ["for_the_hand"]

_ROUGH = {"in": 0.001, "mm": 0.02}  # what a step is turned to before the skive: a division of the dial
_FINE = {"in": 0.0005, "mm": 0.01}  # what a size is finished to: half of it, the finest that is read off a caliper


def for_the_hand(table: pd.DataFrame, units: Units) -> pd.DataFrame:
    """The cut table [mm] with diameters rounded up to round sizes of `units`; what would then stand above the present
    steel is the present steel."""
    if not len(table):
        return table
    rounded = table.copy()
    for column, step in (
        ("diameter_mm", _ROUGH), ("finish_diameter_mm", _FINE), ("do_not_pass_diameter_mm", _FINE)
    ):  # fmt: skip
        size = step[units] * MM_PER_UNIT[units]
        rounded[column] = np.ceil(table[column] / size - 1e-6) * size
    if (table["removal_mm"] > 0.0).all():
        for column in ("diameter_mm", "finish_diameter_mm", "do_not_pass_diameter_mm"):
            rounded[column] = np.minimum(rounded[column], table["present_diameter_mm"])
    # the inspection goes with the size as stated
    by_size = table["read"] == "diameter"
    moved = rounded["finish_diameter_mm"] - table["finish_diameter_mm"]
    for column in ("inspect_low_mm", "inspect_high_mm"):
        rounded[column] = table[column] + np.where(by_size, moved, 0.0)
    return rounded
