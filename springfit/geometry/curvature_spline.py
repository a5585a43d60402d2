"""A curve written by its curvature, and how its places move when the curvature does.

The rate of curvature along the arc is a quadratic B-spline; its integrals are curvature, slope and place:

    kappa = kappa0 + integral rate ds,  slope = slope0 + integral kappa ds,
    z = z0 + integral cos(slope) ds,    r = r0 + integral sin(slope) ds
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.integrate import cumulative_simpson, cumulative_trapezoid
from scipy.interpolate import BSpline, CubicHermiteSpline

from springfit.geometry.points import FloatArray, Points

__all__ = ["CurvatureSpline", "Shape"]

INTEGRATION_STEP = 0.5  # [mm] assumed fine enough


@dataclass(frozen=True)
class Shape:
    """One curve: its start (z0, r0) [mm], slope [rad] and curvature [1/mm] there, and its rates [1/mm^2]."""

    z0: float
    r0: float
    slope0: float
    curvature0: float
    rates: FloatArray

    def moved(self, step: FloatArray) -> Shape:
        """The curve after a step (shift along the start's normal, turn, bend, then the new rates)."""
        shift, turn, bend, *rates = step
        return Shape(
            self.z0 - shift * np.sin(self.slope0),
            self.r0 + shift * np.cos(self.slope0),
            self.slope0 + turn,
            self.curvature0 + bend,
            np.array(rates),
        )


class CurvatureSpline:
    """The family of curves whose curvature has knots at the arc lengths `knots` [mm], (k,) from 0 up."""

    def __init__(self, knots: FloatArray) -> None:
        ends = [knots[0]] * 2, [knots[-1]] * 2
        self.count = knots.size + 1
        self.rate = BSpline(np.concatenate((ends[0], knots, ends[1])), np.eye(self.count), 2)
        self.curvature, self.turning = self.rate.antiderivative(1), self.rate.antiderivative(2)
        self.grid = np.linspace(0.0, knots[-1], int(np.ceil(knots[-1] / INTEGRATION_STEP)) + 2)
        self.turning_on_grid = self.turning_rows(self.grid)

    def turning_rows(self, s: FloatArray) -> FloatArray:
        """Slope at s by unknown: slope at the start, curvature at the start, rates."""
        return np.column_stack((np.ones_like(s), s, self.turning(s)))

    def curvature_rows(self, s: FloatArray) -> FloatArray:
        """Curvature at s by unknown: shift, turn, bend, rates."""
        return np.column_stack((np.zeros((s.size, 2)), np.ones_like(s), self.curvature(s)))

    def points(self, shape: Shape, s: FloatArray) -> Points:
        """The curve at arc lengths s [mm]."""
        slope = self._slope_on_grid(shape)
        cos, sin = np.cos(slope), np.sin(slope)
        z = shape.z0 + cumulative_simpson(cos, dx=self.grid[1], initial=0.0)
        r = shape.r0 + cumulative_simpson(sin, dx=self.grid[1], initial=0.0)
        return Points(
            s,
            CubicHermiteSpline(self.grid, z, cos)(s),
            CubicHermiteSpline(self.grid, r, sin)(s),
            shape.slope0 + shape.curvature0 * s + self.turning(s) @ shape.rates,
            shape.curvature0 + self.curvature(s) @ shape.rates,
        )

    def normal_motion(self, shape: Shape, s: FloatArray) -> FloatArray:
        """Motion along the normal of the places at s, by unknown: shift, turn, bend, rates.

        A slope changed by f(u) moves the place at s by integral_0^s f(u) cos(slope(s) - slope(u)) du.
        """
        slope = self._slope_on_grid(shape)
        along_z = self.turning_on_grid * np.cos(slope)[:, None]
        along_r = self.turning_on_grid * np.sin(slope)[:, None]
        here = np.clip(np.rint(s / self.grid[1]).astype(int), 0, self.grid.size - 1)
        moved_z = cumulative_trapezoid(along_z, dx=self.grid[1], axis=0, initial=0)[here]
        moved_r = cumulative_trapezoid(along_r, dx=self.grid[1], axis=0, initial=0)[here]
        cos, sin = np.cos(slope[here])[:, None], np.sin(slope[here])[:, None]
        return np.hstack((np.cos(slope[here] - shape.slope0)[:, None], moved_z * cos + moved_r * sin))

    def _slope_on_grid(self, shape: Shape) -> FloatArray:
        unknowns = np.append((shape.slope0, shape.curvature0), shape.rates)
        return np.asarray(self.turning_on_grid @ unknowns, dtype=np.float64)
