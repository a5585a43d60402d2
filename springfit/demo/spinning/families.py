"""Bell profiles of several families, each as a `BellLine`: the curve of the steel from tail to rim.

Written apart from `springfit.geometry` so that the invented shop shares no code with what is to be tested
on it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline

__all__ = ["BellLine", "bessel_horn", "exponential_flare", "line_through", "with_corner", "with_dishes"]

STATION_MM = 0.5  # spacing of a line's stations along the arc


@dataclass(frozen=True, eq=False)
class BellLine:
    """A meridian at stations `s` (n,) from the tail: `z`, `r` [mm], `slope` [rad], `curvature` [1/mm].

    The slope is taken from the axis. Tangent (dz, dr) = (cos slope, sin slope); normal out of the steel
    (-sin slope, cos slope).
    """

    s: np.ndarray
    z: np.ndarray
    r: np.ndarray
    slope: np.ndarray
    curvature: np.ndarray

    @property
    def length(self) -> float:
        """Arc length from tail to end [mm]."""
        return float(self.s[-1])

    def arc_at_z(self, z: float | np.ndarray) -> np.ndarray:
        """Arc [mm] at which the line reaches axial station `z`; held at the ends."""
        return np.interp(z, self.z, self.s)

    def arc_at_radius(self, radius: float) -> float:
        """Arc [mm] at which the line first reaches `radius` from the rim; ValueError if it never does."""
        below = np.flatnonzero(self.r <= radius)
        if not len(below) or self.r[-1] < radius - 1e-6:
            raise ValueError(
                f"radius {radius:.2f} mm is not on this line, expected {self.r[0]:.2f} to {self.r[-1]:.2f} mm"
            )
        i = int(below[-1])
        if i == len(self.r) - 1:
            return self.length
        return float(np.interp(radius, self.r[i : i + 2], self.s[i : i + 2]))

    def points_at(self, s: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """`z`, `r` [mm] and `slope` [rad] at arcs `s`, by cubic splines through the stations."""
        return (
            CubicSpline(self.s, self.z)(s),
            CubicSpline(self.s, self.r)(s),
            CubicSpline(self.s, self.slope)(s),
        )

    def moved_along_normal(self, distance: np.ndarray) -> BellLine:
        """The line through this one's stations moved by `distance` (n,) [mm] along the normal."""
        return line_through(self.z - distance * np.sin(self.slope), self.r + distance * np.cos(self.slope))

    def cut_at(self, arc: float) -> BellLine:
        """The part from the tail to `arc` [mm], ending exactly there."""
        s = np.append(self.s[self.s < arc - 1e-6], arc)
        z, r, slope = self.points_at(s)
        return BellLine(s, z, r, slope, np.interp(s, self.s, self.curvature))


def line_through(z: np.ndarray, r: np.ndarray) -> BellLine:
    """The smooth line through points (n,) given in order from tail to rim: a cubic spline on arc length.

    The chord length is replaced by the spline's own arc length twice, after which they agree to a micron.
    """
    c = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(z), np.diff(r)))])
    for _ in range(2):
        fine = np.unique(np.concatenate([c, np.arange(0.0, c[-1], STATION_MM / 2)]))
        speed = np.hypot(CubicSpline(c, z)(fine, 1), CubicSpline(c, r)(fine, 1))
        arc = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * np.diff(fine))])
        c = np.interp(c, fine, arc)
    s = np.linspace(0.0, c[-1], int(np.ceil(c[-1] / STATION_MM)) + 1)
    along, out = CubicSpline(c, z), CubicSpline(c, r)
    slope = np.unwrap(np.arctan2(out(s, 1), along(s, 1)))
    curvature = along(s, 1) * out(s, 2) - out(s, 1) * along(s, 2)
    return BellLine(s, along(s), out(s), slope, curvature)


def bessel_horn(*, tail: float, rim: float, length: float, exponent: float, beyond: float = 0.0) -> BellLine:
    """Bessel horn r = b (x + x0)^-exponent, x from the mouth inward, through the radii `tail` and `rim` [mm].

    x0 = length / [(rim/tail)^(1/exponent) - 1], b = rim x0^exponent; the form of Smyth and Scott, Trombone
    synthesis by model and measurement. `beyond` carries the same curve on past the rim by that much of
    radius, for the blank's edge.
    """
    x0 = length / ((rim / tail) ** (1.0 / exponent) - 1.0)
    b = rim * x0**exponent
    radius = np.geomspace(tail, rim, 1600)
    if beyond > 0.0:
        radius = np.concatenate([radius, np.linspace(rim, rim + beyond, 120)[1:]])
    x = (radius / b) ** (-1.0 / exponent) - x0
    return line_through(length - x, radius)


def exponential_flare(
    *, tail: float, rim: float, length: float, taper: float, reach: float, beyond: float = 0.0
) -> BellLine:
    """A cone opening by `taper` [mm/mm] with an exponential flare of e-folding `reach` [mm] on its end.

    r = tail + taper z + c (exp((z - length)/reach) - exp(-length/reach)), c set by r(length) = `rim`.
    """
    foot = np.exp(-length / reach)
    c = (rim - tail - taper * length) / (1.0 - foot)
    z = np.concatenate(
        [np.linspace(0.0, length - 4 * reach, 300), np.linspace(length - 4 * reach, length + reach, 3000)[1:]]
    )
    r = tail + taper * z + c * (np.exp((z - length) / reach) - foot)
    keep = r <= rim + beyond + 0.05
    return line_through(z[keep], r[keep])


def with_dishes(line: BellLine, dishes: tuple[tuple[float, float, float], ...]) -> BellLine:
    """The line with shallow turned dishes: (centre arc, width, depth) [mm] each, raised cosines sunk in."""
    depth = np.zeros_like(line.s)
    for centre, width, deep in dishes:
        x = np.clip((line.s - centre) / width, -0.5, 0.5)
        depth += deep * 0.5 * (1.0 + np.cos(2.0 * np.pi * x))
    return line.moved_along_normal(-depth)


def with_corner(line: BellLine, centre: float, turn: float, rounding: float) -> BellLine:
    """The line with a hollow corner at arc `centre` [mm]: past it the slope is greater by `turn` [rad].

    The turn is rounded as a normal curve of curvature, `rounding` [mm] wide at half its height; the curvature on both
    sides is the line's own.
    """
    s = np.arange(0.0, line.length, 0.1)
    deviation = rounding / np.sqrt(8.0 * np.log(2.0))
    bump = np.exp(-0.5 * ((s - centre) / deviation) ** 2)
    slope = CubicSpline(line.s, line.slope)(s) + turn * np.cumsum(bump) / bump.sum()
    middle = 0.5 * (slope[1:] + slope[:-1])
    z = line.z[0] + np.concatenate([[0.0], np.cumsum(0.1 * np.cos(middle))])
    r = line.r[0] + np.concatenate([[0.0], np.cumsum(0.1 * np.sin(middle))])
    return line_through(z[::5], r[::5])
