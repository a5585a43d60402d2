"""The zones of a bell that are watched apart, tail to rim: by slope, by where drawing stopped, and where facets are."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.points import STEEP_RAD

__all__ = ["RIM_DEG", "TAIL_DEG", "THROAT_DEG", "ZONES", "zones_of"]

Floats = NDArray[np.float64]

ZONES = ("tail", "throat", "overlap", "facets", "flare", "rim")
TAIL_DEG, THROAT_DEG = 1.5, 8.0  # up to these slopes a bell is tail, then throat, as a report names them too; assumed
RIM_DEG = float(np.degrees(STEEP_RAD))  # past it a rim is read otherwise than the flare: as z at a diameter
OVERLAP_MM = 12.0  # of arc either way of the draw end: where a swelling of passes toward the tail sits; common practice


def zones_of(arc: Floats, slope: Floats, draw_end: float, facets: Sequence[tuple[float, float]]) -> NDArray[np.intp]:
    """Number in `ZONES` of each place (n,); `draw_end` arc [mm] where drawing stopped, 0 when it was not drawn;
    `facets` stretches of arc [mm]."""
    degrees = np.degrees(slope)
    zone = np.select([degrees <= TAIL_DEG, degrees <= THROAT_DEG, degrees <= RIM_DEG], [0, 1, 4], 5)
    if draw_end > 0.0:
        zone = np.where(np.abs(arc - draw_end) <= OVERLAP_MM, 2, zone)
    for low, high in facets:
        zone = np.where((arc >= low) & (arc <= high), 3, zone)
    return zone.astype(np.intp)
