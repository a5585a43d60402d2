"""What physics allows at each station (decay length for now)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["decay_length"]

Array = NDArray[np.float64]


def decay_length(r: Array, slope: Array, *, wall: Array | float, poisson_ratio: float) -> Array:
    """Arc over which an edge disturbance falls by e, 1/beta = sqrt(R_2 t)/[3(1-nu^2)]^(1/4) [mm].

    R_2 = r/cos(slope) is the second principal radius of curvature; on a flat flare (slope 90 degrees) the
    disturbance dies over the radius itself, so R_2 is not let grow past r^2/t.
    Source: Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, ch. 15.
    """
    second_radius = r / np.maximum(np.abs(np.cos(slope)), np.asarray(wall) / r)
    decay: Array = np.sqrt(second_radius * wall) / (3 * (1 - poisson_ratio**2)) ** 0.25
    return decay
