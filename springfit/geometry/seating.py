"""Where a point lies against a meridian, and the axial slide that explains a gap."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.spatial import KDTree

from springfit.geometry.meridian import END_SLACK, Meridian
from springfit.geometry.points import FloatArray, along_and_across

__all__ = ["best_slide", "nearest_point", "slid"]

NEWTON_ROUNDS = 6  # each squares what is left, so six reach rounding
# Of a step's divisor: near the centre of curvature it is nought, and every foot is as near; guards against that alone
LEAST_DIVISOR = 0.1


def nearest_point(meridian: Meridian, z: ArrayLike, r: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Arc length of the foot of each point (z, r) and its normal distance [mm], + outside the steel.

    z, r: arrays of one shape, which both results have. A point past an end of the meridian has no foot: both
    are NaN.
    """
    points = np.stack(np.broadcast_arrays(np.asarray(z, float), np.asarray(r, float)), axis=-1)
    shape, flat = points.shape[:-1], points.reshape(-1, 2)
    known = np.all(np.isfinite(flat), axis=1)
    s, distance = np.full(len(flat), np.nan), np.full(len(flat), np.nan)
    if np.any(known):
        s[known], distance[known] = _feet(meridian, flat[known, 0], flat[known, 1])
    return s.reshape(shape), distance.reshape(shape)


def best_slide(slope: ArrayLike, gap: ArrayLike, weights: ArrayLike | None = None) -> float:
    """Axial slide [mm] of a bell that best explains its gap, by weighted least squares.

    slope [rad] and gap [mm]: (n,); weights: (n,), not negative. A bell moved toward the rim by `slide` shows
    gap = -slide sin(slope). Raises ValueError when no slope tells a slide, or a number is missing.
    """
    sine, normal = np.sin(np.asarray(slope, float)), np.asarray(gap, float)
    weight = np.ones_like(sine) if weights is None else np.asarray(weights, float)
    if not sine.shape == normal.shape == weight.shape:
        raise ValueError(f"slope, gap and weights have shapes {sine.shape}, {normal.shape}, {weight.shape}")
    if np.any(weight < 0):
        raise ValueError(f"a weight is {weight.min()}, expected 0 or more")
    leverage = float(np.sum(weight * sine**2))
    slide = -float(np.sum(weight * normal * sine)) / leverage if leverage > 0 else np.nan
    if not np.isfinite(slide):
        raise ValueError("no slide can be told: every slope is zero or a slope, gap or weight is missing")
    return slide


def slid(meridian: Meridian, distance: float) -> Meridian:
    """The meridian moved by `distance` [mm] along the axis, toward the rim when positive."""
    return Meridian(meridian.s, meridian.z + distance, meridian.r, meridian.slope, meridian.curvature)


def _feet(meridian: Meridian, z: FloatArray, r: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Foot and distance: the nearest station, then Newton on tangent . (point - foot) = 0."""
    _, nearest = KDTree(np.column_stack((meridian.z, meridian.r))).query(np.column_stack((z, r)))
    low = meridian.s[np.maximum(nearest - 1, 0)]
    high = meridian.s[np.minimum(nearest + 1, meridian.s.size - 1)]
    s = meridian.s[nearest]
    for _ in range(NEWTON_ROUNDS):
        foot = meridian.at(s)
        along, across = along_and_across(z - foot.z, r - foot.r, foot.slope)
        s = np.clip(s + along / np.maximum(1.0 - across * foot.curvature, LEAST_DIVISOR), low, high)
    foot = meridian.at(s)
    along, across = along_and_across(z - foot.z, r - foot.r, foot.slope)
    past_tail = (s <= 0.0) & (along < -END_SLACK)
    past_rim = (s >= meridian.length) & (along > END_SLACK)
    past = past_tail | past_rim
    return np.where(past, np.nan, s), np.where(past, np.nan, across)
