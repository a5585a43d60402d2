"""Several structures' words made one forecast: a weighted mixture, its place and its shape mixed and stated apart.

Mean and variance of a mixture: mu = sum w_m mu_m, var = c^2 sum w_m (b_m^2 var_m + (mu_m - mu)^2). b_m is how many
times wider than it says a structure's left-out forecasts turned out, c the same of the mixture's 90 % band, each of
place and of shape by itself: a structure may know how a flare bends better than where it comes to stand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.learning.coverage import CoverageNote
from springfit.learning.forecasting.fitted_structure import Told

__all__ = ["Bands", "GapForecast", "Weighing", "mixed", "mixture_of"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Weighing:
    """Of the structures in their order: `weights` that sum to one, and `wider`, by how much each one's standard
    deviation is widened; `scale`, by how much that of their mixture is."""

    weights: tuple[float, ...]
    wider: tuple[float, ...]
    scale: float = 1.0

    @classmethod
    def equal(cls, count: int) -> Weighing:
        """Equal weights, nothing widened: what is known before anything was left out."""
        return cls((1.0 / count,) * count, (1.0,) * count)


@dataclass(frozen=True)
class Bands:
    """What left-out forecasts teach of one kind (mandrels in the records, or new ones): of `shape` and of `place`."""

    shape: Weighing
    place: Weighing

    @classmethod
    def equal(cls, count: int) -> Bands:
        """Equal weights of so many structures."""
        return cls(Weighing.equal(count), Weighing.equal(count))


@dataclass(frozen=True)
class GapForecast:
    """Gap at arc stations of one bell; all arrays (n,) [mm]. `mean_sd` of a new batch's mean, `bell_sd` of one bell,
    both scales of Student's t with `freedom`; `shape_sd` of the gap once the flare's axial `place` [mm, + toward the
    rim] is taken out, which has `place_sd`; `axial` motion, tail registered; `trust` a word a station."""

    arc: Floats
    gap: Floats
    mean_sd: Floats
    bell_sd: Floats
    shape_sd: Floats
    place: float
    place_sd: float
    axial: Floats
    freedom: float
    trust: tuple[str, ...]
    notes: tuple[CoverageNote, ...]


def mixed(told: Sequence[Told], bands: Bands) -> Told:
    """What the structures told, in their order, as one."""
    shape, shape_variance = mixture_of(
        np.array([one.shape for one in told]), np.array([one.shape_variance for one in told]), bands.shape
    )
    place, place_variance = mixture_of(
        np.array([[one.place] for one in told]), np.array([[one.place_variance] for one in told]), bands.place
    )
    return Told(
        shape, float(place[0]), np.array(bands.place.weights) @ np.array([one.axial for one in told]),
        shape_variance, float(place_variance[0]),
        np.array(bands.shape.weights) @ np.array([one.bell_variance for one in told]),
    )  # fmt: skip


def mixture_of(means: Floats, variances: Floats, weighing: Weighing) -> tuple[Floats, Floats]:
    """Mean and variance (n,) of a mixture of (structures, n)."""
    weights, wider = np.array(weighing.weights), np.array(weighing.wider)[:, None]
    mean = weights @ means
    return mean, weighing.scale**2 * (weights @ (wider**2 * variances + (means - mean) ** 2))
