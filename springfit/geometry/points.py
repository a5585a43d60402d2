"""Points on a curve, and the one check every array of a curve passes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["STEEP_RAD", "FloatArray", "Points", "along_and_across", "frozen_array"]

FloatArray = NDArray[np.float64]

STEEP_RAD = np.pi / 4  # from the axis: where a line is steeper, a z at a radius is surer than a radius at a z


@dataclass(frozen=True)
class Points:
    """Places on a meridian, in whatever order they were asked for.

    s, z, r [mm], slope [rad] and curvature [1/mm] all have the shape of the arc lengths asked for.
    """

    s: FloatArray
    z: FloatArray
    r: FloatArray
    slope: FloatArray
    curvature: FloatArray


def frozen_array(name: str, values: ArrayLike) -> FloatArray:
    """Return a read-only 1-D float copy of `values`; ValueError when it is not 1-D or not finite."""
    array = np.array(values, dtype=np.float64)
    if array.ndim != 1:
        raise ValueError(f"{name} has {array.ndim} dimensions, expected a one-dimensional array")
    bad = np.flatnonzero(~np.isfinite(array))
    if bad.size:
        raise ValueError(f"{name}[{bad[0]}] is {array[bad[0]]}, expected a number; leave blank rows out")
    array.setflags(write=False)
    return array


def along_and_across(dz: FloatArray, dr: FloatArray, slope: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Parts of (dz, dr) [mm] along the tangent and along the normal out of the steel at `slope` [rad]."""
    cos, sin = np.cos(slope), np.sin(slope)
    return dz * cos + dr * sin, dr * cos - dz * sin
