"""Chances of being out of tolerance, and how many more batches would settle a question."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.stats import chi2, norm
from scipy.stats import t as student

from springfit.geometry.points import FloatArray

__all__ = [
    "SURE", "batches_to_settle", "chance_below", "chance_out", "chances_below", "expected_beyond", "least_scatter",
    "sd_after_batches",
]  # fmt: skip


MOST_BATCHES = 20  # a shop that would need more has another problem than its steel; assumed
SURE = 0.9  # confidence of the one-sided lower bound of a scatter: no band, though as sure as one (`BAND_LEVEL`)


def chance_out(error: FloatArray, sd: FloatArray, tolerance: float, degrees_of_freedom: float) -> float:
    """Chance that the next batch's mean is out of tolerance at its worst row.

    error, sd: (n,) [mm]; tolerance [mm], both ways. The chance of being out *anywhere* lies at or above it.
    """
    if error.size == 0:
        return float("nan")
    spread = np.maximum(sd, 1e-9)
    above = student.sf((tolerance - error) / spread, degrees_of_freedom)
    below = student.cdf((-tolerance - error) / spread, degrees_of_freedom)
    return float(np.max(above + below))


def chance_below(error: FloatArray, sd: FloatArray, limit: float, degrees_of_freedom: float) -> float:
    """Chance that the worst row lies below `limit` [mm]: that steel is lacking there."""
    return float(np.max(chances_below(error, sd, limit, degrees_of_freedom), initial=0.0))


def chances_below(error: FloatArray, sd: FloatArray, limit: float, degrees_of_freedom: float) -> FloatArray:
    """Chance of every row that it lies below `limit` [mm], (n,)."""
    return np.asarray(student.cdf((limit - error) / np.maximum(sd, 1e-9), degrees_of_freedom))


def expected_beyond(error: FloatArray, sd: FloatArray, tolerance: float) -> FloatArray:
    """How far beyond tolerance an error is on the mean, [mm] in the shape of `error`: sd [phi(a) - a Phi(-a)], a its
    distance to either limit in sds (the loss of a normal variable)."""
    spread = np.maximum(sd, 1e-9)

    def over(distance: FloatArray) -> FloatArray:
        return np.asarray(spread * (norm.pdf(distance) - distance * norm.sf(distance)))

    return over((tolerance - error) / spread) + over((tolerance + error) / spread)


def least_scatter(scatter: float, degrees_of_freedom: float) -> float:
    """Lower 90 % bound of a standard deviation known from few batches [as `scatter`], NaN when not known.

    s sqrt(nu / chi2_0.9(nu)), for normal scatter.
    """
    if not np.isfinite(scatter) or degrees_of_freedom <= 0:
        return float("nan")
    return float(scatter * np.sqrt(degrees_of_freedom / chi2.ppf(SURE, degrees_of_freedom)))


def sd_after_batches(sd: FloatArray, scatter: float, batches: int) -> FloatArray:
    """Standard deviation of the lasting error after `batches` more [mm].

    1 / v_k = 1 / v + k / w: each batch shows the lasting mean with variance w, its own scatter squared, or
    with the present variance v where that is larger or the scatter is not known.
    """
    variance = np.maximum(sd, 1e-9) ** 2
    each = variance if not np.isfinite(scatter) else np.maximum(variance, scatter**2)
    return np.sqrt(1.0 / (1.0 / variance + batches / each))


def batches_to_settle(sd: FloatArray, scatter: float, settled: Callable[[FloatArray, int], bool]) -> int | None:
    """Fewest more batches after which `settled(sd, batches)` holds, should the best estimate stay; None beyond 20."""
    for batches in range(1, MOST_BATCHES + 1):
        if settled(sd_after_batches(sd, scatter, batches), batches):
            return batches
    return None
