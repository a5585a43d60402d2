"""The exponentially weighted moving mean, and the limits it should stay in.

    w_i = lambda x_i + (1 - lambda) w_(i-1),    sd(w_i) = sd(x) sqrt(lambda / (2 - lambda) (1 - (1 - lambda)^(2i)))

NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["WeightedMean", "weighted_mean"]

Floats = NDArray[np.float64]

# Once in 500 batches without a shift, ten with one of a standard deviation (tests/reference/watching/run_lengths.py).
SHARE, WIDTH = 0.2, 2.962


@dataclass(frozen=True)
class WeightedMean:
    """`mean` (n,), `limit` (n,) either side of the target, and `signal` (n,): +1 or -1 where it lies outside."""

    mean: Floats
    limit: Floats
    signal: NDArray[np.intp]


def weighted_mean(
    values: Sequence[float] | Floats,
    *,
    target: float = 0.0,
    sd: float = 1.0,
    share: float = SHARE,
    width: float = WIDTH,
    settled: bool = False,
) -> WeightedMean:
    """Weighted means of `values` (n,) begun at `target`. settled: the limits of a long run for every value."""
    number = np.arange(1, len(values) + 1, dtype=float)
    growth = np.ones(len(values)) if settled else 1.0 - (1.0 - share) ** (2.0 * number)
    limit = width * sd * np.sqrt(share / (2.0 - share) * growth)
    mean, last = np.zeros(len(values)), target
    for place, value in enumerate(values):
        last = share * float(value) + (1.0 - share) * last
        mean[place] = last
    outside = np.abs(mean - target) > limit
    return WeightedMean(mean, limit, (np.sign(mean - target) * outside).astype(np.intp))
