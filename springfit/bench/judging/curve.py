"""The curve that a dot is shown on: how far the bells before lie off the steel, station by station."""

from __future__ import annotations

import numpy as np

from springfit.bench.entry.entry_place import Place
from springfit.records.book import Book
from springfit.records.checks.rough_gaps import mandrel_profiles, rough_gaps

__all__ = ["bells_before"]

_STEP_MM = 6.0  # of station: readings within it are one point of the curve


def bells_before(near: Book, place: Place) -> list[tuple[float, float, float]]:
    """(station, least, most) [mm] of the distance off the steel of the bells in `near`, tail to rim; empty without
    any."""
    read = near.measurements[near.measurements["kind"] == place.kind]
    if place.kind in ("clearance", "wall"):
        station, gap = read["z_mm"].to_numpy(float), read["value_mm"].to_numpy(float)
    else:
        known = rough_gaps(near, mandrel_profiles(near))
        station, gap = known["station_mm"].to_numpy(float), known["gap_mm"].to_numpy(float)
    fine = np.isfinite(station) & np.isfinite(gap)
    station, gap = station[fine], gap[fine]
    points = []
    for bin_ in np.unique(np.round(station / _STEP_MM)):
        here = np.round(station / _STEP_MM) == bin_
        points.append((float(station[here].mean()), float(gap[here].min()), float(gap[here].max())))
    return points
