"""Smoothing measured stations by their curvature.

The curve is written by its curvature, a cubic B-spline of arc length, and integrated to slope and place, so
that all three agree and a flare that ends flat (z nearly constant) needs no special care. The spline is the
most probable one when each station is off by its stated error along the normal and curvature wanders along
the arc like a random walk:

    minimise  sum_i (e_i / sigma_i)^2 + integral kappa'(s)^2 / q ds
"""

from __future__ import annotations

import numpy as np
from scipy.integrate import cumulative_simpson
from scipy.interpolate import BSpline, CubicHermiteSpline

from springfit.geometry.points import FloatArray, Points

__all__ = ["smooth_stations"]

DISH_DEPTH = 0.08  # [mm] the shallowest dish a maker cuts on purpose and expects to find again
DISH_LENGTH = 38.0  # [mm] its length
DISH_CURVATURE = 0.5 * DISH_DEPTH * (2 * np.pi / DISH_LENGTH) ** 2  # [1/mm] at the middle of a raised cosine
WANDER = (2 * DISH_CURVATURE) ** 2 / (DISH_LENGTH / 2)  # [1/mm^3] mean square change a millimetre
INTERPOLATION_ERROR = 1e-6  # [mm] stands for an error stated as nil
GRID = 0.25  # [mm] step of the integrations
ROUNDS = 12


def smooth_stations(z: FloatArray, r: FloatArray, *, r_error: float, z_error: float, step: float) -> Points:
    """Smooth curve through stations (z, r) [mm], returned at even arc lengths at most `step` [mm] apart."""
    arc = _arc_lengths(z, r)
    curve = _Curve(arc)
    slope = np.arctan2(np.gradient(r, arc), np.gradient(z, arc))
    coefficients, start = curve.first_guess(arc, slope, z[0], r[0])
    for _ in range(ROUNDS):
        points = curve.at(arc, coefficients, start)
        along, across = _resolve(z - points.z, r - points.r, points.slope)
        arc = arc + along
        arc[0] = 0.0
        sigma = np.hypot(r_error * np.cos(points.slope), z_error * np.sin(points.slope))
        sigma = np.maximum(sigma, INTERPOLATION_ERROR)
        shift, turn, new = curve.solve(arc, across, sigma, coefficients, start)
        change = np.max(np.abs(new - coefficients))
        z0, r0, slope0 = start
        start = (z0 - shift * np.sin(slope0), r0 + shift * np.cos(slope0), slope0 + turn)
        coefficients = new
        if change < 1e-9 and np.max(np.abs(along)) < 1e-7:
            break
    count = int(np.ceil(arc[-1] / step)) + 1
    return curve.at(np.linspace(0.0, arc[-1], count), coefficients, start)


def _arc_lengths(z: FloatArray, r: FloatArray) -> FloatArray:
    """Arc length at each station: chords, each lengthened as the arc that turns as its neighbours do."""
    chord = np.hypot(np.diff(z), np.diff(r))
    angle = np.arctan2(np.diff(r), np.diff(z))
    turn = np.gradient(angle)
    return np.concatenate(([0.0], np.cumsum(chord * (1 + turn**2 / 24))))


def _resolve(dz: FloatArray, dr: FloatArray, slope: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Parts of (dz, dr) along the tangent and along the normal."""
    return dz * np.cos(slope) + dr * np.sin(slope), dr * np.cos(slope) - dz * np.sin(slope)


class _Curve:
    """A curve given by B-spline curvature; knots at the stations."""

    def __init__(self, arc: FloatArray) -> None:
        knots = np.concatenate(([arc[0]] * 3, arc, [arc[-1]] * 3))
        self.count = len(knots) - 4
        self.basis = BSpline(knots, np.eye(self.count), 3)
        self.grid = np.linspace(0.0, arc[-1], 2 * int(np.ceil(arc[-1] / GRID / 2)) + 1)
        self.turning = self.basis.antiderivative()(self.grid)
        self.wander = self.basis.derivative()(self.grid) * np.sqrt(np.gradient(self.grid))[:, None]

    def first_guess(
        self, arc: FloatArray, slope: FloatArray, z0: float, r0: float
    ) -> tuple[FloatArray, tuple[float, float, float]]:
        rows = np.vstack((self.basis(arc), 1e-3 * np.eye(self.count)))
        kappa = np.concatenate((np.gradient(slope, arc), np.zeros(self.count)))
        return np.linalg.lstsq(rows, kappa, rcond=None)[0], (float(z0), float(r0), float(slope[0]))

    def at(self, s: FloatArray, coefficients: FloatArray, start: tuple[float, float, float]) -> Points:
        z0, r0, slope0 = start
        phi = slope0 + self.turning @ coefficients
        z = z0 + cumulative_simpson(np.cos(phi), x=self.grid, initial=0.0)
        r = r0 + cumulative_simpson(np.sin(phi), x=self.grid, initial=0.0)
        kappa = self.basis(s) @ coefficients
        slope = slope0 + self.basis.antiderivative()(s) @ coefficients
        return Points(
            s,
            CubicHermiteSpline(self.grid, z, np.cos(phi))(s),
            CubicHermiteSpline(self.grid, r, np.sin(phi))(s),
            slope,
            kappa,
        )

    def solve(
        self,
        arc: FloatArray,
        across: FloatArray,
        sigma: FloatArray,
        coefficients: FloatArray,
        start: tuple[float, float, float],
    ) -> tuple[float, float, FloatArray]:
        """One Gauss-Newton step: shift of the start along its normal, its turn, and new coefficients."""
        phi = start[2] + self.turning @ coefficients
        turning = np.column_stack((np.ones_like(phi), self.turning))
        along_z = cumulative_simpson(turning * np.cos(phi)[:, None], x=self.grid, axis=0, initial=0.0)
        along_r = cumulative_simpson(turning * np.sin(phi)[:, None], x=self.grid, axis=0, initial=0.0)
        here = np.clip(np.searchsorted(self.grid, arc), 0, len(self.grid) - 1)
        cos, sin = np.cos(phi[here])[:, None], np.sin(phi[here])[:, None]
        motion = along_z[here] * cos + along_r[here] * sin  # along the normal, by unknown
        shift = np.cos(phi[here] - start[2])[:, None]
        rows = np.hstack((shift, motion)) / sigma[:, None]
        values = (across + motion[:, 1:] @ coefficients) / sigma
        penalty = np.hstack((np.zeros((len(self.grid), 2)), self.wander / np.sqrt(WANDER)))
        solution = np.linalg.lstsq(
            np.vstack((rows, penalty)), np.concatenate((values, np.zeros(len(penalty)))), rcond=1e-15
        )[0]
        return float(solution[0]), float(solution[1]), solution[2:]
