"""Resistant location and straight fits: what few outliers, however far off, cannot move.

Tukey's biweight with tuning constant 4.685, which keeps 95 % of the efficiency of least squares on normal errors, on
deviations scaled by 1.4826 times their median absolute size (Huber & Ronchetti, Robust Statistics, 2009,
section 5.1.4).
"""

from __future__ import annotations

import numpy as np

from springfit.geometry.points import FloatArray
from springfit.normal_errors import MAD_TO_SD

__all__ = ["biweight", "located", "ridge_fit", "scale_of"]

TUNING = 4.685  # as above
ROUNDS, ABSOLUTE_ROUNDS = 20, 3  # a bound on time; rounds that absolute deviations take to begin with, assumed


def biweight(deviation: FloatArray, scale: float | FloatArray) -> FloatArray:
    """Weight 0 to 1 of each deviation: (1 - (d / 4.685 scale)^2)^2, nothing beyond; any shape."""
    x = np.clip(np.abs(deviation) / (TUNING * np.asarray(scale)), 0.0, 1.0)
    return np.asarray((1.0 - x**2) ** 2)


def scale_of(deviation: FloatArray, floor: float) -> float:
    """1.4826 times the median absolute deviation from nothing, not below `floor`; nan values are left out."""
    known = deviation[np.isfinite(deviation)]
    return max(MAD_TO_SD * float(np.median(np.abs(known))), floor) if known.size else floor


def located(values: FloatArray, trust: FloatArray, floor: float) -> tuple[FloatArray, FloatArray]:
    """Biweight location down the first axis, and the spread it was scaled by; each (places,).

    values: (specimens, places), nan where unknown; trust: (specimens,); floor: least spread. nan without any value.
    """
    known = np.isfinite(values)
    weight = np.where(known, trust[:, None], 0.0)
    filled = np.where(known, values, 0.0)
    middle = _weighted_median(values, weight)
    spread = MAD_TO_SD * _weighted_median(np.where(known, np.abs(values - middle), np.nan), weight)
    spread = np.maximum(spread, floor)
    for _ in range(ROUNDS):
        share = weight * biweight(np.where(known, values - middle, 0.0), spread)
        total = share.sum(axis=0)
        middle = np.where(total > 0, (share * filled).sum(axis=0) / np.where(total > 0, total, 1.0), middle)
    return middle, spread


def ridge_fit(
    rows: FloatArray,
    values: FloatArray,
    error: FloatArray,
    prior_sd: FloatArray,
    start: FloatArray | None = None,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Sizes of the columns by biweight least squares beside normal priors about nothing, their covariance, and weights.

    rows: (n, columns); values, error (1 sd): (n,); prior_sd: (columns,). The scale never falls below the errors stated.
    start: weights to begin from; without them the first rounds weigh as least absolute deviations do, which no start
    can mislead.
    """
    weight: FloatArray = np.ones(values.size) if start is None else start
    ridge = np.diag(1.0 / prior_sd**2)
    scale, normal = 1.0, ridge
    sizes: FloatArray = np.zeros(rows.shape[1])
    for turn in range(ROUNDS):
        held = weight / (scale * error) ** 2
        normal = rows.T @ (held[:, None] * rows) + ridge
        sizes = np.asarray(np.linalg.solve(normal, rows.T @ (held * values)))
        left = (values - rows @ sizes) / error
        scale = scale_of(left, 1.0)
        absolute = start is None and turn < ABSOLUTE_ROUNDS
        weight = scale / np.maximum(np.abs(left), scale) if absolute else biweight(left, scale)
    return sizes, np.asarray(np.linalg.inv(normal)), weight


def _weighted_median(values: FloatArray, weight: FloatArray) -> FloatArray:
    """Weighted median down the first axis, midway where the halves are even; nan where nothing is known."""
    order = np.argsort(np.where(np.isfinite(values), values, np.inf), axis=0)
    ranked = np.take_along_axis(values, order, axis=0)
    share = np.cumsum(np.take_along_axis(weight, order, axis=0), axis=0)
    half, last = share[-1] / 2.0, values.shape[0] - 1
    low = np.minimum(np.sum(share < half - 1e-12, axis=0), last)
    high = np.minimum(np.sum(share < half + 1e-12, axis=0), last)
    pick = np.arange(values.shape[1])
    high = np.where(np.isfinite(ranked[high, pick]), high, low)
    return np.asarray((ranked[low, pick] + ranked[high, pick]) / 2.0)
