"""Smoothing measured stations by their curvature.

The curve is written by the rate of its curvature along the arc, a quadratic B-spline with knots at the
stations, and integrated to curvature, slope and place: all agree, and a flare that ends flat (z nearly
constant) needs no special care. Each station is off by its stated error along the normal, and curvature
wanders along the arc like a random walk whose mean square rate q(s) differs from place to place:

    minimise  sum_i (e_i / sigma_i)^2 + integral kappa'(s)^2 / q(s) ds

q starts where a shallow dish survives everywhere and is then learned, window by window, from the stations, so
that a plain tail is not made to wave while a dish in it stays. q is learned by the generalised Fellner-Schall
step (Wood & Fasiolo, Biometrics 73, 2017, 1071-1081).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.integrate import cumulative_simpson, cumulative_trapezoid
from scipy.interpolate import BSpline, CubicHermiteSpline
from scipy.linalg import qr, solve_triangular

from springfit.geometry.points import FloatArray, Points, along_and_across

__all__ = ["smooth_stations"]

DISH_DEPTH = 0.08  # [mm] the shallowest dish a maker cuts on purpose and expects to find again
DISH_LENGTH = 38.0  # [mm] its length
DISH_CURVATURE = 0.5 * DISH_DEPTH * (2 * np.pi / DISH_LENGTH) ** 2  # [1/mm] at the middle of a raised cosine
DISH_WANDER = (2 * DISH_CURVATURE) ** 2 / (DISH_LENGTH / 2)  # [1/mm^3] from its edge to its middle
WANDER_RANGE = (1e-6 * DISH_WANDER, 1e2 * DISH_WANDER)  # from a plain cone to an edge struck by the tool
NIL_ERROR = 1e-6  # [mm] stands for an error stated as nil
FIRST_ANGLE_ERROR = 0.01  # [rad] of a chord, beside the curve it cuts across
INTEGRATION_STEP = 0.5  # [mm]
MOST_ROUNDS = 40
LEARNING_ROUNDS = 25  # after which only the curve moves
SETTLED = 2e-6  # [mm] change of any station's residual at which the rounds stop
UNSETTLED = 1e-3  # [mm] change still going on after them that no shop could measure
MOST_KNOTS = 200  # a denser tracing is fitted, not passed through


def smooth_stations(z: FloatArray, r: FloatArray, *, r_error: float, z_error: float, step: float) -> Points:
    """Smooth curve through stations (z, r) [mm], given at even arc lengths at most `step` [mm] apart.

    Raises ValueError when the stations settle on no smooth curve.
    """
    arc = _arc_lengths(z, r)
    basis = _Basis(arc)
    shape = basis.first_shape(arc, z, r, max(r_error, z_error))
    precision = np.full(basis.windows, 1.0 / DISH_WANDER)
    before = np.full(arc.size, np.inf)
    for turn in range(MOST_ROUNDS):
        points = basis.points(shape, arc)
        along, across = along_and_across(z - points.z, r - points.r, points.slope)
        moving = float(max(np.max(np.abs(across - before)), np.max(np.abs(along))))
        if moving < SETTLED or np.max(np.abs(across)) > arc[-1]:
            break
        arc, before = np.append(0.0, (arc + along)[1:]), across
        sigma = np.hypot(r_error * np.cos(points.slope), z_error * np.sin(points.slope))
        shape, learned = basis.step(shape, precision, arc, across, np.maximum(sigma, NIL_ERROR))
        precision = learned if turn < LEARNING_ROUNDS else precision
    if not moving < UNSETTLED:
        raise ValueError(
            f"{arc.size} stations settle on no smooth curve (still moving by {moving:.2g} mm): "
            "expected stations close enough to follow the flare, and their error stated; take more, or state it"
        )
    return basis.points(shape, np.linspace(0.0, arc[-1], int(np.ceil(arc[-1] / step)) + 1))


def _arc_lengths(z: FloatArray, r: FloatArray) -> FloatArray:
    """Arc length at each station: chords, each lengthened as an arc that turns as its neighbours do."""
    chord = np.hypot(np.diff(z), np.diff(r))
    turn = np.gradient(np.arctan2(np.diff(r), np.diff(z)))
    return np.append(0.0, np.cumsum(chord * (1 + turn**2 / 24)))


@dataclass(frozen=True)
class _Shape:
    """A curve: where it starts, its slope and curvature there, and the B-spline coefficients of kappa'."""

    z0: float
    r0: float
    slope0: float
    curvature0: float
    rates: FloatArray


class _Basis:
    """What stays the same while one set of stations is smoothed."""

    def __init__(self, arc: FloatArray) -> None:
        inner = arc[np.unique(np.linspace(0, arc.size - 1, min(arc.size, MOST_KNOTS)).astype(int))]
        knots = np.concatenate(([inner[0]] * 2, inner, [inner[-1]] * 2))
        self.rate = BSpline(knots, np.eye(len(knots) - 3), 2)
        self.curvature, self.turning = self.rate.antiderivative(1), self.rate.antiderivative(2)
        self.grid = np.linspace(0.0, arc[-1], int(np.ceil(arc[-1] / INTEGRATION_STEP)) + 2)
        # columns: slope at the start, curvature at the start, rates
        self.turning_on_grid = np.column_stack((self.grid**0, self.grid, self.turning(self.grid)))
        nodes, weights = np.polynomial.legendre.leggauss(3)
        half = np.diff(inner)[:, None] / 2
        places = (inner[:-1, None] + half * (1 + nodes)).ravel()
        self.roughness = self.rate(places) * np.sqrt((half * weights).ravel())[:, None]
        self.windows = max(2, round(arc[-1] / DISH_LENGTH) + 1)
        centres = np.linspace(0.0, arc[-1], self.windows)
        self.share = np.array([np.interp(places, centres, one) for one in np.eye(self.windows)])

    def first_shape(self, arc: FloatArray, z: FloatArray, r: FloatArray, error: float) -> _Shape:
        """A curve that turns as the chords from station to station do, the long ones trusted most."""
        chord = np.diff(arc)
        angle = np.arctan2(np.diff(r), np.diff(z))
        sigma = FIRST_ANGLE_ERROR + 2 * error / chord
        middle = arc[:-1] + chord / 2
        data = np.column_stack((middle**0, middle, self.turning(middle))) / sigma[:, None]
        stiffness = np.pad(self.roughness / np.sqrt(WANDER_RANGE[1]), ((0, 0), (2, 0)))
        values = np.append(angle / sigma, np.zeros(len(stiffness)))
        slope, curvature, *rates = np.linalg.lstsq(np.vstack((data, stiffness)), values, rcond=None)[0]
        return _Shape(float(z[0]), float(r[0]), float(slope), float(curvature), np.array(rates))

    def points(self, shape: _Shape, s: FloatArray) -> Points:
        """The curve at arc lengths s."""
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

    def step(
        self, shape: _Shape, precision: FloatArray, arc: FloatArray, across: FloatArray, sigma: FloatArray
    ) -> tuple[_Shape, FloatArray]:
        """One Gauss-Newton step of the curve, and one step of the precision 1/q of each window."""
        motion = self._normal_motion(shape, arc)
        values = (across + motion[:, 3:] @ shape.rates) / sigma
        penalty = self.roughness * np.sqrt(precision @ self.share)[:, None]
        rows = np.vstack((motion / sigma[:, None], _beside_start(penalty)))
        q, triangle = qr(rows, mode="economic")
        shift, turn, bend, *rates = solve_triangular(triangle, q[: arc.size].T @ values)
        moved = _Shape(
            z0=shape.z0 - shift * np.sin(shape.slope0),
            r0=shape.r0 + shift * np.cos(shape.slope0),
            slope0=shape.slope0 + turn,
            curvature0=shape.curvature0 + bend,
            rates=np.array(rates),
        )
        return moved, self._learned_precision(precision, moved.rates, penalty, np.asarray(triangle, float))

    def _learned_precision(
        self, precision: FloatArray, rates: FloatArray, penalty: FloatArray, triangle: FloatArray
    ) -> FloatArray:
        """Precision of each window: what the stations settled of kappa' there, over its sum of squares."""
        prior = qr(penalty, mode="r")[0][: rates.size]
        unsure_before = np.sum(solve_triangular(prior, self.roughness.T, trans="T") ** 2, axis=0)
        rows = _beside_start(self.roughness).T
        unsure_after = np.sum(solve_triangular(triangle, rows, trans="T") ** 2, axis=0)
        settled = np.maximum(self.share @ (unsure_before - unsure_after), 0.0)
        squares = np.maximum(self.share @ (self.roughness @ rates) ** 2, np.finfo(float).tiny)
        learned = np.clip(precision * settled / squares, precision / 10, precision * 10)
        return np.clip(learned, 1 / WANDER_RANGE[1], 1 / WANDER_RANGE[0])

    def _slope_on_grid(self, shape: _Shape) -> FloatArray:
        unknowns = np.append((shape.slope0, shape.curvature0), shape.rates)
        return np.asarray(self.turning_on_grid @ unknowns, dtype=np.float64)

    def _normal_motion(self, shape: _Shape, arc: FloatArray) -> FloatArray:
        """Motion along the normal of the place at each arc length, by unknown: shift, turn, bend, rates.

        A slope changed by f(u) moves the place at s by integral_0^s f(u) cos(slope(s) - slope(u)) du.
        """
        slope = self._slope_on_grid(shape)
        along_z = self.turning_on_grid * np.cos(slope)[:, None]
        along_r = self.turning_on_grid * np.sin(slope)[:, None]
        here = np.clip(np.rint(arc / self.grid[1]).astype(int), 0, self.grid.size - 1)
        moved_z = cumulative_trapezoid(along_z, dx=self.grid[1], axis=0, initial=0)[here]
        moved_r = cumulative_trapezoid(along_r, dx=self.grid[1], axis=0, initial=0)[here]
        cos, sin = np.cos(slope[here])[:, None], np.sin(slope[here])[:, None]
        return np.hstack((np.cos(slope[here] - shape.slope0)[:, None], moved_z * cos + moved_r * sin))


def _beside_start(rows: FloatArray) -> FloatArray:
    """Rows on the rates, widened by nil columns for the shift, turn and bend of the start."""
    return np.pad(rows, ((0, 0), (3, 0)))
