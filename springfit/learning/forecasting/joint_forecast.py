"""Two bells forecast together: their difference, and how well it is known when what both share cancels.

For each structure m the shapes and the places of both bells hang on unknowns by name (`unknowns`); the difference
has mean D_m and variance V_m from the joint covariance, and of the whole mixture

    var = c^2 sum w_m (b_m^2 V_m + (D_m - D)^2),        D = sum w_m D_m,

shape and place along the axis each widened by its own, as for one bell (`gap_forecast`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from springfit.learning.forecasting.fitted_structure import Expected
from springfit.learning.forecasting.gap_forecast import Bands, mixture_of
from springfit.learning.forecasting.unknowns import difference_of
from springfit.normal_errors import BAND_LEVEL

__all__ = ["GapDifference", "joint_difference", "rows_between"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class GapDifference:
    """By how much a bell's gap differs from another's at arcs (n,) [mm] of the first one's steel: `gap` [mm per side, +
    where the second is the larger], and `sd` [mm], a scale of Student's t with `freedom`, of the difference between
    the means of batches that share what the two bells share."""

    arc: Floats
    gap: Floats
    sd: Floats
    freedom: float

    def band(self, level: float = BAND_LEVEL) -> tuple[Floats, Floats]:
        """Lower and upper edge [mm] of the band that holds the difference with probability `level`."""
        half = float(student.ppf(0.5 + 0.5 * level, self.freedom)) * self.sd
        return self.gap - half, self.gap + half


def joint_difference(
    first: Sequence[Expected], second: Sequence[Expected], rows: Floats, bands: Bands
) -> tuple[Floats, Floats]:
    """Mean and variance (k,) [mm, mm^2] of `second` less `first`, told by the same structures in the same order, at the
    first k stations of `first`; `rows` (k, n) takes the stations of `second` there."""
    count = len(rows)
    shapes, shape_variances, places, place_variances = [], [], [], []
    for one, other in zip(first, second, strict=True):
        here, there = one.sine[:count], rows @ other.sine
        shapes.append(rows @ other.told.shape - one.told.shape[:count])
        at_first = one.shape.moved(np.eye(count, one.sine.size))
        shape_variances.append(difference_of(at_first, other.shape.moved(rows)).variance)
        places.append(here * one.told.place - there * other.told.place)
        moved = (one.place.moved(-here[:, None]), other.place.moved(-there[:, None]))
        place_variances.append(difference_of(*moved).variance)
    shape, shape_variance = mixture_of(np.array(shapes), np.array(shape_variances), bands.shape)
    place, place_variance = mixture_of(np.array(places), np.array(place_variances), bands.place)
    return shape + place, shape_variance + place_variance


def rows_between(arc: Floats, at: Floats) -> Floats:
    """Rows (k, n) that read values on rising stations `arc` (n,) at places `at` (k,) between them, straight."""
    after = np.clip(np.searchsorted(arc, at), 1, arc.size - 1)
    part = (at - arc[after - 1]) / (arc[after] - arc[after - 1])
    rows = np.zeros((at.size, arc.size))
    rows[np.arange(at.size), after - 1] = 1.0 - part
    rows[np.arange(at.size), after] = part
    return rows
