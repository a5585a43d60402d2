"""Mandrels drawn over the range of the trade: Bessel horns, and lines whose slope rises as a power of their arc."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from springfit.geometry.meridian import Meridian, meridian_from_stations

__all__ = ["drawn_horn"]

Floats = NDArray[np.float64]

# [mm] radii of rim and tail, length in rim radii; one horn in five is of the larger kind. Common practice, no source.
RIMS, LARGE_RIMS, LARGE = (45.0, 85.0), (85.0, 125.0), 0.2
TAILS, LENGTHS = (5.0, 11.0), (3.2, 6.5)
# Of a Bessel horn; [rad] of the other family at tail and rim. Common practice, no source.
EXPONENTS, TAPERS, LAST_SLOPES = (0.5, 0.95), (0.01, 0.05), (0.8, 1.3)
FLATTEST, STEEPEST = 0.75, 1.36  # [rad] at the rim: less is no bell, at more a line is told by z no longer; assumed
TIGHTEST_MM = 16.0  # radius of the flare's tightest turn, twice a usual nose: no smaller one lays sheet into it
STATIONS = 900  # along a line, as close as its curvature asks
POWERS = (0.5, 60.0)  # of the arc: from evenly opening to a tube with a flat rim


def drawn_horn(random: np.random.Generator) -> Meridian:
    """A mandrel that bells are made on, its blank's rim at its end."""
    while True:
        rim = random.uniform(*(LARGE_RIMS if random.random() < LARGE else RIMS))
        tail, length = random.uniform(*TAILS), random.uniform(*LENGTHS) * rim
        of_family = _bessel if random.random() < 0.5 else _powered
        z, r = of_family(random, tail, rim, length)
        steel = meridian_from_stations(z, 2.0 * r, diameter_error=0.0)
        if FLATTEST < steel.slope[-1] < STEEPEST and np.max(steel.curvature) < 1.0 / TIGHTEST_MM:
            return steel


def _bessel(random: np.random.Generator, tail: float, rim: float, length: float) -> tuple[Floats, Floats]:
    """r = b (x + x0)^-a with x from the mouth, through both radii."""
    exponent = random.uniform(*EXPONENTS)
    before = length / ((rim / tail) ** (1.0 / exponent) - 1.0)
    r = np.geomspace(tail, rim, STATIONS)
    return length + before - before * (rim / r) ** (1.0 / exponent), r


def _powered(random: np.random.Generator, tail: float, rim: float, length: float) -> tuple[Floats, Floats]:
    """Slope = taper + (last - taper) u^p over the part u of the arc, with the power p that ends at `rim`."""
    taper, last = random.uniform(*TAPERS), random.uniform(*LAST_SLOPES)
    u = np.linspace(0.0, 1.0, STATIONS)

    def line(power: float) -> tuple[Floats, Floats]:
        slope = taper + (last - taper) * u**power
        middle, step = 0.5 * (slope[1:] + slope[:-1]), (length + rim) * np.diff(u)
        z, r = np.cumsum(step * np.cos(middle)), tail + np.cumsum(step * np.sin(middle))
        return np.append(0.0, z), np.append(tail, r)

    return line(brentq(lambda power: line(power)[1][-1] - rim, *POWERS))
