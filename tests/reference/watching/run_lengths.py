"""How many values a chart runs before it signals, on the mean: what its limits cost and what they buy.

Run lengths from a start z obey a Fredholm equation of the second kind, solved by Gauss-Legendre quadrature
(Crowder 1987, Technometrics 29, 401-407, for the weighted mean; Page 1954, Biometrika 41, 100-115, for the sum):

    L(z) = 1 + L(0) Phi(k - z - delta) + int_0^h L(x) phi(x + k - z - delta) dx            (one-sided sum)
    L(z) = 1 + int_-h^h L(x) phi((x - (1 - lambda) z) / lambda - delta) dx / lambda        (weighted mean)
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

__all__ = ["run_length_of_mean", "run_length_of_single", "run_length_of_sum"]

Floats = NDArray[np.float64]

NODES = 60  # the fourth digit settles at 30


def run_length_of_single(shift: float, *, width: float = 3.0) -> float:
    """Mean run of a chart of single values with limits at `width` sds when the mean has moved by `shift` sds."""
    return float(1.0 / (norm.cdf(-width - shift) + norm.cdf(-width + shift)))


def run_length_of_sum(
    shift: float, *, reference: float = 0.5, decision: float = 5.0, head_start: float = 0.0
) -> float:
    """Mean run of a two-sided cumulative sum under a `shift` in sds. Without a head start the two sides join by
    1/L = 1/L+ + 1/L-; with one, by the same from their starts (exact where they cannot both be near their limit,
    Lucas & Crosier 1982)."""
    up, up_from_zero = _one_sided(shift, reference, decision, head_start)
    down, down_from_zero = _one_sided(-shift, reference, decision, head_start)
    if head_start <= 0.0:
        return 1.0 / (1.0 / up_from_zero + 1.0 / down_from_zero)
    both = up * down_from_zero + down * up_from_zero - up_from_zero * down_from_zero
    return both / (up_from_zero + down_from_zero)


def _one_sided(shift: float, reference: float, decision: float, head_start: float) -> tuple[float, float]:
    """Mean runs of one side from its head start and from zero."""
    at, weight = _quadrature(0.0, decision)
    points = np.concatenate(([0.0], at))
    kernel = np.zeros((len(points), len(points)))
    kernel[:, 0] = norm.cdf(reference - points - shift)
    kernel[:, 1:] = weight * norm.pdf(at[None, :] + reference - points[:, None] - shift)
    runs = np.linalg.solve(np.eye(len(points)) - kernel, np.ones(len(points)))
    begun = 1.0 + runs[0] * norm.cdf(reference - head_start - shift)
    begun += float(np.sum(weight * runs[1:] * norm.pdf(at + reference - head_start - shift)))
    return float(begun), float(runs[0])


def run_length_of_mean(shift: float, *, share: float = 0.2, width: float = 2.962) -> float:
    """Mean run of an exponentially weighted mean with the limits of a long run, begun at its target."""
    limit = width * np.sqrt(share / (2.0 - share))
    at, weight = _quadrature(-limit, limit)

    def density(start: Floats) -> Floats:
        step = (at[None, :] - (1.0 - share) * start[:, None]) / share - shift
        return np.asarray(weight * norm.pdf(step) / share)

    runs = np.linalg.solve(np.eye(NODES) - density(at), np.ones(NODES))
    return float(1.0 + (density(np.zeros(1)) @ runs)[0])


def _quadrature(low: float, high: float) -> tuple[Floats, Floats]:
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    half = (high - low) / 2.0
    return low + half * (nodes + 1.0), half * weights
