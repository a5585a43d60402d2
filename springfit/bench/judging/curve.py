"""The curve that a dot is shown on: how far the bells before lie off the steel, station by station."""

from __future__ import annotations

import numpy as np

from springfit.bench.judging.way_before import WayBefore

__all__ = ["bells_before"]

_STEP_MM = 6.0  # of station: readings within it are one point of the curve; about a quarter inch


def bells_before(before: WayBefore) -> list[tuple[float, float, float]]:
    """(station, least, most) [mm] of the distance off the steel of the bells before, tail to rim; empty without any."""
    station, gap = before.curve
    points = []
    for bin_ in np.unique(np.round(station / _STEP_MM)):
        here = np.round(station / _STEP_MM) == bin_
        points.append((float(station[here].mean()), float(gap[here].min()), float(gap[here].max())))
    return points
