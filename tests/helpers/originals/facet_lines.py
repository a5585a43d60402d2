"""Fair flares of several families, stations taken on them, and facets let into them whose truth is known.

Written apart from `springfit.geometry`: lines are integrals of curvature along a fine arc.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import cumulative_trapezoid
from scipy.interpolate import CubicSpline

FloatArray = NDArray[np.float64]
INCH = 25.4
STEP = 0.25  # [mm] of arc


@dataclass(frozen=True)
class Line:
    """A fair line by arc s [mm]: slope [rad], z and r [mm]."""

    s: FloatArray
    slope: FloatArray
    z: FloatArray
    r: FloatArray

    @property
    def curvature(self) -> FloatArray:
        return np.asarray(CubicSpline(self.s, self.slope)(self.s, 1))


@dataclass(frozen=True)
class Planted:
    """A raised cosine `depth` into the line over `width` [mm], or a corner of `turn` [rad] rounded over `width`."""

    s: float
    width: float
    depth: float = 0.0
    turn: float = 0.0


def bent(s: FloatArray, curvature: FloatArray, *, slope0: float, r0: float) -> Line:
    slope = slope0 + cumulative_trapezoid(curvature, s, initial=0)
    z = cumulative_trapezoid(np.cos(slope), s, initial=0)
    return Line(s, slope, z, r0 + cumulative_trapezoid(np.sin(slope), s, initial=0))


def through(z: FloatArray, r: FloatArray) -> Line:
    s = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(z), np.diff(r)))))
    even = np.arange(0.0, s[-1], STEP)
    along, out = CubicSpline(s, z), CubicSpline(s, r)
    return Line(even, np.unwrap(np.arctan2(out(even, 1), along(even, 1))), along(even), out(even))


def bessel(draw: np.random.Generator) -> Line:
    """r = b (x + x0)^-gamma [Smyth & Scott, "Trombone synthesis by model and measurement"]."""
    tail, rim, length = draw.uniform(5.5, 10.0), draw.uniform(55.0, 110.0), draw.uniform(280.0, 520.0)
    gamma = draw.uniform(0.5, 0.9)
    x0 = length / ((rim / tail) ** (1 / gamma) - 1)
    r = np.geomspace(tail, rim, 6000)
    return through(length - ((r / (rim * x0**gamma)) ** (-1 / gamma) - x0), r)


def exponential(draw: np.random.Generator) -> Line:
    """A slender cone with an exponential flare."""
    length, reach, taper = draw.uniform(280.0, 480.0), draw.uniform(20.0, 42.0), draw.uniform(0.005, 0.035)
    tail, rim = draw.uniform(5.5, 9.0), draw.uniform(55.0, 90.0)
    near = length - 5 * reach
    z = np.concatenate((np.linspace(0.0, near, 2000), np.linspace(near, length, 6000)[1:]))
    foot = np.exp(-length / reach)
    return through(
        z,
        tail + taper * z + (rim - tail - taper * length) / (1 - foot) * (np.exp((z - length) / reach) - foot),
    )


def conical_end(draw: np.random.Generator) -> Line:
    """A flare that runs out straight."""
    line = (bessel, exponential)[draw.integers(2)](draw)
    curved = line.s < line.s[-1] * draw.uniform(0.75, 0.92)
    return bent(line.s, np.where(curved, line.curvature, 0.0), slope0=line.slope[0], r0=line.r[0])


def smooth_arcs(draw: np.random.Generator) -> Line:
    """A flare of circular arcs that run into each other, each within about 0.01 mm of the flare it stands for."""
    line = (bessel, exponential)[draw.integers(2)](draw)
    rate, ends = np.abs(np.gradient(line.curvature, line.s)), [0.0]
    while ends[-1] < line.s[-1]:
        length = 80.0
        while length > 10.0:
            here = (line.s >= ends[-1]) & (line.s <= ends[-1] + length)
            if rate[here].mean() * length**3 / 62 <= 0.01:
                break
            length *= 0.93
        ends.append(ends[-1] + length)
    ends[-1] = line.s[-1]
    mean = np.diff(np.interp(ends, line.s, line.slope)) / np.diff(ends)
    arc = np.clip(np.searchsorted(ends, line.s, side="right") - 1, 0, mean.size - 1)
    return bent(line.s, mean[arc], slope0=line.slope[0], r0=line.r[0])


def blended_cones(draw: np.random.Generator) -> Line:
    """Cones, each opening more than the last, blended by arcs of 250 to 700 mm radius at least 26 mm long."""
    length = draw.uniform(250.0, 450.0)
    s, at = np.arange(0.0, length, STEP), 60.0
    curvature, slope0 = np.zeros_like(s), draw.uniform(0.01, 0.04)
    while at < length - 80.0:
        radius, turn = draw.uniform(250.0, 700.0), np.radians(draw.uniform(4.0, 14.0))
        blend = max(radius * turn, 26.0)
        curvature[(s > at) & (s < at + blend)] = 1 / radius
        at += blend + draw.uniform(40.0, 100.0)
    return bent(s, curvature, slope0=slope0, r0=draw.uniform(6.0, 12.0))


FAIR: dict[str, Callable[[np.random.Generator], Line]] = {
    "bessel": bessel,
    "exponential": exponential,
    "conical end": conical_end,
    "smooth arcs": smooth_arcs,
    "blended cones": blended_cones,
}


def with_facets(line: Line, facets: Sequence[Planted]) -> tuple[FloatArray, FloatArray]:
    """z and r of the line with facets let in."""
    turned, sunk = np.zeros_like(line.s), np.zeros_like(line.s)
    for facet in facets:
        x = line.s - facet.s
        if facet.turn:
            sigma = facet.width / np.sqrt(8 * np.log(2))
            turned += facet.turn * np.exp(-0.5 * (x / sigma) ** 2) / (sigma * np.sqrt(2 * np.pi))
        sunk += np.where(
            np.abs(x) < facet.width / 2, 0.5 * facet.depth * (1 + np.cos(2 * np.pi * x / facet.width)), 0
        )
    bell = bent(line.s, line.curvature + turned, slope0=line.slope[0], r0=line.r[0]) if turned.any() else line
    return bell.z + sunk * np.sin(bell.slope), bell.r - sunk * np.cos(bell.slope)


def stations(
    line: Line, spacing: float, error: float, draw: np.random.Generator, facets: Sequence[Planted] = ()
) -> tuple[FloatArray, FloatArray]:
    """Stations every `spacing` [mm] of z up to 45 degrees, then every half of that of radius; diameters `error` off."""
    z, r = with_facets(line, facets)
    s, taken = line.s, [2.0]
    while taken[-1] < s[-1] - 1.0:
        slope = float(np.interp(taken[-1], s, line.slope))
        taken.append(
            taken[-1] + (spacing / np.cos(slope) if slope < np.pi / 4 else spacing / 2 / np.sin(slope))
        )
    at = np.array(taken[:-1])
    return CubicSpline(s, z)(at), 2 * CubicSpline(s, r)(at) + error * draw.standard_normal(at.size)
