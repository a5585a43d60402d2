"""Place and shape of a made-up forecast, of which only the gap and its band were made up."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.seating import best_slide

__all__ = ["parts_of"]

Floats = NDArray[np.float64]

PLACE_PART = 0.7  # of the band where the place takes most of it: about half of the variance there


def parts_of(slope: Floats, gap: Floats, mean_sd: Floats) -> tuple[Floats, float, float]:
    """`shape_sd` (n,), `place` and `place_sd` [mm] that make up the band of a gap (n,) [mm] on slopes (n,) [rad]:
    mean_sd^2 = shape_sd^2 + (place_sd sin slope)^2 at every station, the place being the slide that explains most."""
    sine = np.sin(slope)
    place_sd = PLACE_PART * float(np.min(mean_sd / sine))
    return np.sqrt(mean_sd**2 - (place_sd * sine) ** 2), best_slide(slope, gap), place_sd
