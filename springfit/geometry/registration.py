"""Where along the axis a scan without a reference belongs: the axial shift that lays it on a meridian."""

from __future__ import annotations

import numpy as np
from scipy.optimize import minimize_scalar

from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.geometry.seating import nearest_point

__all__ = ["registration"]

COARSE_MM = 0.5  # between the shifts tried first; assumed
FINE_MM = 1.5  # each side of the best of them, searched to `TOLERANCE_MM`; three coarse ones
TOLERANCE_MM = 1e-3  # [mm] a micrometre: below any reading
FARTHEST_MM = 5.0  # no point counts as further off: more than any sound one is, so that a wild one has no say; assumed


def registration(meridian: Meridian, z: FloatArray, r: FloatArray, *, standing_off: FloatArray) -> float:
    """Shift [mm] to add to `z` so that the points lie nearest to `standing_off` [mm] outside the meridian.

    z, r, standing_off: (n,) [mm]. Least sum of absolute distances, so that a faulty stretch does not drag the scan
    along; none counts as more than `FARTHEST_MM`, and a point shifted past an end as just that. 0 when there are no
    points.
    """
    if not len(z):
        return 0.0
    lowest, highest = meridian.z[0] - z.max(), meridian.z[-1] - z.min()
    steep = np.gradient(meridian.r, meridian.z)
    cosine = 1.0 / np.hypot(1.0, steep)

    def coarse(shift: float) -> float:
        there = z + shift
        radius = np.interp(there, meridian.z, meridian.r)
        across = np.abs(r - radius) * np.interp(there, meridian.z, cosine) - standing_off
        outside = (there < meridian.z[0]) | (there > meridian.z[-1])
        return float(np.where(outside, FARTHEST_MM, np.minimum(np.abs(across), FARTHEST_MM)).sum())

    def fine(shift: float) -> float:
        _, distance = nearest_point(meridian, z + shift, r)
        return float(
            np.minimum(np.abs(np.where(np.isfinite(distance), distance - standing_off, FARTHEST_MM)), FARTHEST_MM).sum()
        )

    shifts = np.arange(lowest, highest + COARSE_MM, COARSE_MM)
    start = float(shifts[int(np.argmin([coarse(shift) for shift in shifts]))])
    found = minimize_scalar(
        fine, bounds=(start - FINE_MM, start + FINE_MM), method="bounded", options={"xatol": TOLERANCE_MM}
    )
    return float(found.x)
