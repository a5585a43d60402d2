"""The size of a line where a maker measures it: at a station along the axis."""

from __future__ import annotations

import numpy as np

from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray

__all__ = ["radius_at_z"]

FURTHEST_MM = 1.0  # past an end: what a cut along the normal moves an end along the axis, and no more


def radius_at_z(line: Meridian, z: FloatArray) -> FloatArray:
    """Radius [mm] of the line at `z` [mm]; past an end along its tangent for at most 1 mm, then NaN."""
    inside = np.clip(z, line.z[0], line.z[-1])
    r = line.at(line.arc_at_z(inside)).r
    end = np.where(z < line.z[0], np.tan(line.slope[0]), np.tan(line.slope[-1]))
    return np.where(np.abs(z - inside) <= FURTHEST_MM, r + (z - inside) * end, np.nan)
