"""Where a line is measured and where it ends: sizes at a station along the axis, and the face of the steel."""

from __future__ import annotations

import numpy as np

from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray

__all__ = ["at_end_face", "radius_at_z"]

END_SLACK = 1e-6  # [mm] a station nearer than this to the face is the face
FURTHEST_MM = 1.0  # past an end: what a cut along the normal moves an end along the axis, and no more


def radius_at_z(line: Meridian, z: FloatArray) -> FloatArray:
    """Radius [mm] of the line at `z` [mm]; past an end along its tangent for at most 1 mm, then NaN."""
    inside = np.clip(z, line.z[0], line.z[-1])
    r = line.at(line.arc_at_z(inside)).r
    end = np.where(z < line.z[0], np.tan(line.slope[0]), np.tan(line.slope[-1]))
    return np.where(np.abs(z - inside) <= FURTHEST_MM, r + (z - inside) * end, np.nan)


def at_end_face(line: Meridian, face_z: float) -> Meridian:
    """The line up to the end face of the steel at `face_z` [mm].

    A cut along the normal of a steep rim carries the end of the line past the face, where there is no steel to hold
    a blank; the new edge is where the line meets the face. A line that ends short of it is returned as it is.
    """
    if line.z[-1] <= face_z:
        return line
    end = line.at(line.arc_at_z(face_z))
    keep = line.s < float(end.s) - END_SLACK
    pairs = (
        (line.s, end.s),
        (line.z, end.z),
        (line.r, end.r),
        (line.slope, end.slope),
        (line.curvature, end.curvature),
    )
    return Meridian(*(np.append(values[keep], last) for values, last in pairs))
