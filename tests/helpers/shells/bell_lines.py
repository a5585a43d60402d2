"""Middle lines of bells for a solid: a Bessel horn, a flare that grows as a power, a cone that dishes inward."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import CubicSpline

from tests.helpers.shells.axisymmetric_solid import Line

MODULUS = 110_000.0


def line_of(s: np.ndarray, slope: np.ndarray, tail_radius: float) -> Line:
    angle = CubicSpline(s, slope)
    fine = np.linspace(0, s[-1], 20_001)
    z = CubicSpline(fine, np.cos(angle(fine))).antiderivative()
    r = CubicSpline(fine, np.sin(angle(fine))).antiderivative()
    radius = CubicSpline(fine, tail_radius + r(fine))
    return Line(s, CubicSpline(fine, z(fine)), radius, angle)


def bessel() -> tuple[Line, float, float]:
    """r = b (x + x0)^-0.7 from 9 to 62.5 mm over 110 mm."""
    x0 = 110 / ((62.5 / 9) ** (1 / 0.7) - 1)
    b = 62.5 * x0**0.7
    x = np.linspace(110, 0, 4001)
    slope = np.arctan(0.7 * b * (x + x0) ** -1.7)
    arc = np.concatenate([[0], np.cumsum(110 / 4000 * (1 / np.cos(slope)[1:] + 1 / np.cos(slope)[:-1]) / 2)])
    s = np.linspace(0, arc[-1], 401)
    return line_of(s, np.interp(s, arc, slope), 9.0), 0.5, 0.345


def power() -> tuple[Line, float, float]:
    s = np.linspace(0, 180, 401)
    return line_of(s, np.radians(1 + 80 * (s / 180) ** 4), 6.0), 0.4, 0.33


def dished() -> tuple[Line, float, float]:
    s = np.linspace(0, 150, 401)
    dish = -0.06 * np.exp(-(((s - 70) / 12) ** 2)) * (s - 70) / 12
    return line_of(s, np.radians(8 + 62 * (s / 150) ** 3) + dish, 20.0), 0.7, 0.30
