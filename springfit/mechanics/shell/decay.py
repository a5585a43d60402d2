"""How far an edge disturbance reaches along the meridian of a thin shell."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["decay_length"]

Array = NDArray[np.float64]


def decay_length(r: ArrayLike, slope: ArrayLike, *, wall: ArrayLike, poisson_ratio: float) -> Array:
    """Arc over which an edge disturbance falls by a factor e, sqrt(R_2 t)/[3(1-nu^2)]^(1/4) [mm], (n,).

    R_2 = r/cos(slope) is the second principal radius of curvature. On a nearly flat flare the disturbance of
    a plate dies over the radius itself, so R_2 is not let grow past r^2/t, where the two lengths meet.
    Source: Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, ch. 15.
    """
    radius, thickness = np.asarray(r, dtype=float), np.asarray(wall, dtype=float)
    second_radius = radius / np.maximum(np.abs(np.cos(slope)), thickness / radius)
    decay: Array = np.sqrt(second_radius * thickness) / (3 * (1 - poisson_ratio**2)) ** 0.25
    return decay
