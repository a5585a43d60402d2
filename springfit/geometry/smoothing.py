"""Smoothing measured stations by their curvature.

The smooth curve is the most probable one when each station is off by its stated error along the normal, and
curvature wanders along the arc like a random walk whose mean square rate q(s) differs from place to place:

    minimise  sum_i (e_i / sigma_i)^2 + integral kappa'(s)^2 / q(s) ds

q starts where a shallow dish survives everywhere and is then learned, window by window, from the stations, so
that a plain tail is not made to wave while a dish in it stays (generalised Fellner-Schall step: Wood &
Fasiolo, Biometrics 73, 2017, 1071-1081). Last, where the stations leave the sign of the curvature in doubt
it is held to that of its neighbours: an inflection has to be earned.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from scipy.linalg import qr, solve_triangular
from scipy.optimize import nnls

from springfit.geometry.curvature_spline import CurvatureSpline, Shape
from springfit.geometry.points import FloatArray, Points, along_and_across

__all__ = ["smooth_stations"]

DISH_DEPTH = 0.08  # [mm] the shallowest dish a maker cuts on purpose and expects to find again
DISH_LENGTH = 38.0  # [mm] its length
DISH_CURVATURE = 0.5 * DISH_DEPTH * (2 * np.pi / DISH_LENGTH) ** 2  # [1/mm] at the middle of a raised cosine
DISH_WANDER = (2 * DISH_CURVATURE) ** 2 / (DISH_LENGTH / 2)  # [1/mm^3] from its edge to its middle
WANDER_RANGE = (1e-6 * DISH_WANDER, 1e2 * DISH_WANDER)  # from a plain cone to an edge struck by the tool
NIL_ERROR = 1e-6  # [mm] stands for an error stated as nil; below any reading
# [rad] error of a chord's angle in the first guess, beside that of its ends; half a degree, assumed: only a beginning
CHORD_ANGLE = 0.01
SURE = 2.5  # standard deviations that make the sign of a curvature sure; right 99 times in 100
SIGN_PLACES = 10  # a station at which a doubtful sign is held; assumed
DEAR = 2.0**2  # rise of the minimum, as by two standard deviations, for which no lobe is given up
# [1/mm] at such a place, so that it stays on its side between them too; bends 100 mm by a quarter micrometre
LEAST_CURVATURE = 2e-7
MOST_KNOTS = 200  # a denser tracing is fitted, not passed through; a bound on time
LEARNING_ROUNDS, MOST_ROUNDS = 25, 40  # after the first, only the curve moves; a bound on time
SETTLED = 2e-6  # [mm] change of any station's residual at which the rounds stop; a thousandth of any reading
UNSETTLED = 1e-3  # [mm] change still going on after them that is refused; a micrometre


def smooth_stations(z: FloatArray, r: FloatArray, *, r_error: float, z_error: float, step: float) -> Points:
    """Smooth curve through stations (z, r) [mm], given at even arc lengths at most `step` [mm] apart.

    Raises ValueError when the stations settle on no smooth curve.
    """
    smoother = _Smoother(z, r, r_error, z_error)
    free = smoother.settled(smoother.first_fit())
    fit = smoother.without_doubtful_lobes(free)
    length = fit.arc[-1]
    return smoother.curve.points(fit.shape, np.linspace(0.0, length, int(np.ceil(length / step)) + 1))


@dataclass(frozen=True)
class _Fit:
    """A curve; the arc lengths of the stations' feet and their errors along the normal [mm]; 1/q [mm^3]."""

    shape: Shape
    arc: FloatArray
    sigma: FloatArray
    precision: FloatArray


class _Smoother:
    """The stations, their errors, and what stays the same while they are smoothed."""

    def __init__(self, z: FloatArray, r: FloatArray, r_error: float, z_error: float) -> None:
        self.z, self.r, self.r_error, self.z_error = z, r, r_error, z_error
        self.first_arc = _arc_lengths(z, r)
        few = np.linspace(0, z.size - 1, min(z.size, MOST_KNOTS)).astype(int)
        knots = self.first_arc[few]
        self.curve = CurvatureSpline(knots)
        nodes, weights = np.polynomial.legendre.leggauss(3)  # exact for the square of a quadratic
        half = np.diff(knots)[:, None] / 2
        places = (knots[:-1, None] + half * (1 + nodes)).ravel()
        self.roughness = self.curve.rate(places) * np.sqrt((half * weights).ravel())[:, None]
        self.bends = self.curve.curvature_rows(np.linspace(0.0, knots[-1], SIGN_PLACES * knots.size))
        self.windows = max(2, round(knots[-1] / DISH_LENGTH) + 1)
        centres = np.linspace(0.0, knots[-1], self.windows)
        self.share = np.array([np.interp(places, centres, one) for one in np.eye(self.windows)])

    def first_fit(self) -> _Fit:
        """A curve that turns as the chords from station to station do, the long ones trusted most."""
        chord = np.diff(self.first_arc)
        angle = np.arctan2(np.diff(self.r), np.diff(self.z))
        sigma = CHORD_ANGLE + 2 * max(self.r_error, self.z_error) / chord
        data = self.curve.turning_rows(self.first_arc[:-1] + chord / 2) / sigma[:, None]
        stiffness = np.pad(self.roughness / np.sqrt(WANDER_RANGE[1]), ((0, 0), (2, 0)))
        values = np.append(angle / sigma, np.zeros(len(stiffness)))
        slope, curvature, *rates = np.linalg.lstsq(np.vstack((data, stiffness)), values, rcond=None)[0]
        shape = Shape(float(self.z[0]), float(self.r[0]), float(slope), float(curvature), np.array(rates))
        nil = np.zeros(self.z.size)
        return _Fit(shape, self.first_arc, nil, np.full(self.windows, 1.0 / DISH_WANDER))

    def settled(self, fit: _Fit, *, signs: FloatArray | None = None) -> _Fit:
        """The fit when its rounds move no station any more; with signs given, 1/q stays and they are held."""
        before = np.full(self.z.size, np.inf)
        for turn in range(MOST_ROUNDS):
            points = self.curve.points(fit.shape, fit.arc)
            along, across = along_and_across(self.z - points.z, self.r - points.r, points.slope)
            moving = max(np.max(np.abs(across - before)), np.max(np.abs(along)))
            if moving < SETTLED or not np.max(np.abs(across)) < fit.arc[-1]:
                break
            before, feet = across, np.append(0.0, (fit.arc + along)[1:])
            sigma = np.hypot(self.r_error * np.cos(points.slope), self.z_error * np.sin(points.slope))
            fit = replace(fit, arc=feet, sigma=np.maximum(sigma, NIL_ERROR))
            fit = self._round(fit, across, learn=signs is None and turn < LEARNING_ROUNDS, signs=signs)
        if not moving < UNSETTLED:
            raise ValueError(
                f"{self.z.size} stations settle on no smooth curve (still moving by {moving:.2g} mm), expected "
                "stations close enough to follow the flare and their error stated; take more, or state it"
            )
        return fit

    def without_doubtful_lobes(self, fit: _Fit) -> _Fit:
        """The fit with doubtful lobes of curvature held to their neighbours' sign, unless that is dear."""
        triangle, _ = self._triangle(fit, np.zeros(self.z.size))
        spread = np.linalg.norm(solve_triangular(triangle, self.bends.T, trans="T"), axis=0)
        curvature = fit.shape.curvature0 + self.bends[:, 3:] @ fit.shape.rates
        signs = _signs_of_neighbours(curvature / spread)
        if not np.any(signs):
            return fit
        held = self.settled(fit, signs=signs)
        return held if self._cost(held) < self._cost(fit) + DEAR else fit

    def _cost(self, fit: _Fit) -> float:
        """What the smoothing minimises."""
        points = self.curve.points(fit.shape, fit.arc)
        _, across = along_and_across(self.z - points.z, self.r - points.r, points.slope)
        wander = self._penalty(fit.precision) @ fit.shape.rates
        return float(np.sum((across / fit.sigma) ** 2) + np.sum(wander**2))

    def _round(self, fit: _Fit, across: FloatArray, *, learn: bool, signs: FloatArray | None) -> _Fit:
        """One Gauss-Newton step of the curve, held to the signs, then one step of 1/q when it is to learn."""
        triangle, target = self._triangle(fit, across)
        step = solve_triangular(triangle, target)
        if signs is not None:
            held, rows = signs != 0, signs[:, None] * self.bends
            floor = LEAST_CURVATURE - signs * fit.shape.curvature0
            step = _least_squares_above(triangle, step, rows[held], floor[held])
        shape = fit.shape.moved(step)
        precision = self._learned(fit.precision, shape.rates, triangle) if learn else fit.precision
        return replace(fit, shape=shape, precision=precision)

    def _triangle(self, fit: _Fit, across: FloatArray) -> tuple[FloatArray, FloatArray]:
        """R and Q'b of the least squares for a step from `fit`, whose residuals are `across`."""
        motion = self.curve.normal_motion(fit.shape, fit.arc)
        values = (across + motion[:, 3:] @ fit.shape.rates) / fit.sigma
        rows = np.vstack((motion / fit.sigma[:, None], _beside_start(self._penalty(fit.precision))))
        q, triangle = qr(rows, mode="economic")
        return np.asarray(triangle, np.float64), np.asarray(q[: values.size].T @ values, np.float64)

    def _penalty(self, precision: FloatArray) -> FloatArray:
        return np.asarray(self.roughness * np.sqrt(precision @ self.share)[:, None], np.float64)

    def _learned(self, precision: FloatArray, rates: FloatArray, triangle: FloatArray) -> FloatArray:
        """1/q of each window: what the stations settled of kappa' there, over its sum of squares."""
        prior = qr(self._penalty(precision), mode="r")[0][: rates.size]
        unsure_before = np.sum(solve_triangular(prior, self.roughness.T, trans="T") ** 2, axis=0)
        rows = _beside_start(self.roughness).T
        unsure_after = np.sum(solve_triangular(triangle, rows, trans="T") ** 2, axis=0)
        settled = np.maximum(self.share @ (unsure_before - unsure_after), 0.0)
        squares = np.maximum(self.share @ (self.roughness @ rates) ** 2, np.finfo(float).tiny)
        learned = np.clip(precision * settled / squares, precision / 10, precision * 10)
        return np.clip(learned, 1 / WANDER_RANGE[1], 1 / WANDER_RANGE[0])


def _arc_lengths(z: FloatArray, r: FloatArray) -> FloatArray:
    """Arc length at each station: chords, each lengthened as an arc that turns as its neighbours do."""
    chord = np.hypot(np.diff(z), np.diff(r))
    turn = np.gradient(np.arctan2(np.diff(r), np.diff(z)))
    return np.append(0.0, np.cumsum(chord * (1 + turn**2 / 24)))


def _beside_start(rows: FloatArray) -> FloatArray:
    """Rows on the rates, widened by nil columns for the shift, turn and bend of the start."""
    return np.pad(rows, ((0, 0), (3, 0)))


def _signs_of_neighbours(score: FloatArray) -> FloatArray:
    """Sign of the nearest sure lobe at each place of a doubtful one, 0 on sure lobes.

    A lobe is a stretch of scores of one sign, sure when one of them reaches SURE. Between sure lobes of
    opposite sign the doubtful scores are parted where that contradicts them least.
    """
    lobe = np.cumsum(np.append(0, np.diff(np.sign(score)) != 0))
    sure_lobe = np.array([np.max(np.abs(score[lobe == i])) >= SURE for i in range(lobe[-1] + 1)])
    sure = np.flatnonzero(sure_lobe[lobe])
    if sure.size == 0:
        return np.full(score.shape, np.sign(np.sum(score)))
    signs = np.sign(score[sure])[np.clip(np.searchsorted(sure, np.arange(score.size)), 0, sure.size - 1)]
    for left, right in pairwise(sure):
        if np.sign(score[left]) != np.sign(score[right]):
            evidence = np.cumsum(np.sign(score[left]) * score[left:right])
            signs[left : left + int(np.argmax(evidence)) + 1] = np.sign(score[left])
    signs[sure] = 0.0
    return signs


def _least_squares_above(
    triangle: FloatArray, best: FloatArray, rows: FloatArray, floor: FloatArray
) -> FloatArray:
    """Least-squares solution of the triangle, whose free one is `best`, with rows @ x >= floor.

    The least-distance problem of Lawson & Hanson, Solving Least Squares Problems, chapter 23.
    """
    lacking = floor - rows @ best
    if np.all(lacking <= 0):
        return best
    slack = solve_triangular(triangle, rows.T, trans="T")
    scale = np.linalg.norm(slack, axis=0)
    system = np.vstack((slack, lacking)) / scale
    aim = np.append(np.zeros(best.size), 1.0)
    residual = system @ nnls(system, aim, maxiter=50 * rows.shape[0])[0] - aim
    return np.asarray(best - solve_triangular(triangle, residual[:-1]) / residual[-1], np.float64)
