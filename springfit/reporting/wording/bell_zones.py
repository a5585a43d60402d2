"""The zones of a bell in a maker's words, told by how steep it stands, and what is said of a batch that is not used."""

from __future__ import annotations

import math

import pandas as pd

__all__ = ["used_words", "zone_of"]

_ZONES = (  # up to this slope in degrees; 45 is where a place at a diameter becomes the surer reading
    (1.5, "tail"),
    (8.0, "throat"),
    (45.0, "flare"),
)


def zone_of(slope_rad: float) -> str:
    """The zone of a place of this slope: tail, throat, flare or rim."""
    degrees = math.degrees(slope_rad)
    return next((name for steepest, name in _ZONES if degrees <= steepest), "rim")


def used_words(row: pd.Series) -> str:
    """Whether a batch is used, and why not."""
    return "yes" if row["used"] else f"no: other {row['unlike']}"
