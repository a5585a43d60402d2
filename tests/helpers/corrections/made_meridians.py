"""Meridians for tests: one of a given slope, and the part of one up to a rim. The product makes its own from stations,
and lets a bell end at an arc."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

from springfit.geometry.meridian import Meridian

__all__ = ["meridian_from_arc", "trim_at_rim"]

SAME_ARC_MM = 1e-10  # that a rim is found to
CLOSE_MM = 0.01  # a station nearer than this to the new rim gives way to it


def meridian_from_arc(s: ArrayLike, slope: ArrayLike, *, z0: float, r0: float) -> Meridian:
    """Meridian whose slope [rad] is known at arc lengths s [mm], starting at (z0, r0) [mm].

    z = z0 + integral cos(slope) ds, r = r0 + integral sin(slope) ds, with a cubic spline of the slope.
    """
    arc, angle = np.asarray(s, dtype=float), np.asarray(slope, dtype=float)
    spline = CubicSpline(arc, angle)
    nodes, weights = np.polynomial.legendre.leggauss(4)
    half = np.diff(arc)[:, None] / 2
    phi = spline(arc[:-1, None] + half * (1 + nodes))
    z = z0 + np.concatenate(([0.0], np.cumsum(np.sum(weights * half * np.cos(phi), axis=1))))
    r = r0 + np.concatenate(([0.0], np.cumsum(np.sum(weights * half * np.sin(phi), axis=1))))
    return Meridian(arc, z, r, angle, spline(arc, 1))


def trim_at_rim(meridian: Meridian, rim_radius: float) -> Meridian:
    """The part from the tail to where the radius is `rim_radius` [mm]."""
    cut = meridian.length
    if rim_radius < meridian.r[-1]:
        cut = float(brentq(lambda s: float(meridian.at(s).r) - rim_radius, 0.0, meridian.length, xtol=SAME_ARC_MM))
    end, keep = meridian.at(cut), meridian.s < cut - CLOSE_MM
    columns = ((meridian.s, end.s), (meridian.z, end.z), (meridian.r, end.r))
    curves = ((meridian.slope, end.slope), (meridian.curvature, end.curvature))
    return Meridian(*(np.append(values[keep], last) for values, last in columns + curves))
