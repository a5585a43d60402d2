"""Meridians of mandrels: families of curves from tail to blank rim, and shallow facets turned into them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

__all__ = ["SteelLine", "bessel", "exponential", "faceted", "line_through", "rolled"]

Array = NDArray[np.float64]

STATION_MM = 0.25  # straight lines between stations are then off by less than half a micron at 1/16 mm of curvature


@dataclass(frozen=True, eq=False)
class SteelLine:
    """A meridian at stations `s` (n,) [mm] from the tail: `z`, `r` [mm], `slope` [rad], `curvature` [1/mm]."""

    s: Array
    z: Array
    r: Array
    slope: Array
    curvature: Array

    def arc_at_radius(self, radius: float) -> float:
        """Arc [mm] where the radius is first reached; radii are made to increase."""
        return float(np.interp(radius, np.maximum.accumulate(self.r), self.s))

    def arc_at_z(self, z: float) -> float:
        """Arc [mm] at an axial station."""
        return float(np.interp(z, self.z, self.s))

    def part(self, first: float, last: float) -> SteelLine:
        """The stations between two arcs [mm], with one exactly at `last`."""
        s = np.append(self.s[(self.s >= first - 1e-9) & (self.s < last - 0.05)], last)
        z, r, slope = (CubicSpline(self.s, column)(s) for column in (self.z, self.r, self.slope))
        return SteelLine(s, z, r, slope, np.interp(s, self.s, self.curvature))


def line_through(z: Array, r: Array) -> SteelLine:
    """The smooth line through points in order from tail to rim: a cubic spline on its own arc length."""
    c = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(z), np.diff(r)))])
    for _ in range(2):  # the chord becomes the arc to a micron
        fine = np.unique(np.concatenate([c, np.arange(0.0, c[-1], 0.2)]))
        speed = np.hypot(CubicSpline(c, z)(fine, 1), CubicSpline(c, r)(fine, 1))
        arc = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * np.diff(fine))])
        c = np.interp(c, fine, arc)
    s = np.linspace(0.0, c[-1], int(np.ceil(c[-1] / STATION_MM)) + 1)
    along, out = CubicSpline(c, z), CubicSpline(c, r)
    slope = np.arctan2(out(s, 1), along(s, 1))
    return SteelLine(s, along(s), out(s), slope, along(s, 1) * out(s, 2) - out(s, 1) * along(s, 2))


def bessel(*, tail: float, rim: float, length: float, exponent: float) -> SteelLine:
    """Bessel horn r = b (x + x0)^-exponent, x from the mouth, through the radii `tail` and `rim` [mm]."""
    start = length / ((rim / tail) ** (1.0 / exponent) - 1.0)
    radius = np.geomspace(tail, rim, 900)
    x = (radius / (rim * start**exponent)) ** (-1.0 / exponent) - start
    return line_through(length - x, radius)


def exponential(*, tail: float, rim: float, length: float, taper: float, reach: float) -> SteelLine:
    """A cone opening by `taper` [mm/mm] with an exponential of e-folding `reach` [mm] on it, through `rim`."""
    foot = np.exp(-length / reach)
    height = (rim - tail - taper * length) / (1.0 - foot)
    bend = length - 4.0 * reach
    z = np.concatenate([np.linspace(0.0, bend, 200), np.linspace(bend, length, 900)[1:]])
    return line_through(z, tail + taper * z + height * (np.exp((z - length) / reach) - foot))


def rolled(*, tail: float, rim: float, length: float, taper: float, last_slope: float) -> SteelLine:
    """A line whose slope rises as a power of the arc from `taper` to `last_slope` [rad]; the power fits the rim."""
    u = np.linspace(0.0, 1.0, 1500)

    def points(power: float) -> tuple[Array, Array]:
        slope = taper + (last_slope - taper) * u**power
        step = length * np.diff(u)
        middle = 0.5 * (slope[1:] + slope[:-1])
        z, r = np.cumsum(step * np.cos(middle)), np.cumsum(step * np.sin(middle))
        return np.concatenate([[0.0], z]), tail + np.concatenate([[0.0], r])

    low, high = 0.5, 60.0
    for _ in range(60):
        power = 0.5 * (low + high)
        low, high = (power, high) if points(power)[1][-1] > rim else (low, power)
    z, r = points(power)
    return line_through(z[::3], r[::3])


def faceted(line: SteelLine, facets: tuple[tuple[float, float, float], ...]) -> SteelLine:
    """The line with facets sunk in: (centre arc, width, depth) [mm] each, depth d cos^2 across the width."""
    depth = np.zeros_like(line.s)
    for centre, width, deep in facets:
        x = np.clip((line.s - centre) / width, -0.5, 0.5)
        depth += deep * np.cos(np.pi * x) ** 2
    return line_through(line.z + depth * np.sin(line.slope), line.r - depth * np.cos(line.slope))
