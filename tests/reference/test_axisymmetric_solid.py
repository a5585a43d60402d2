"""The shell against a 2-D axisymmetric solid (scikit-fem, quadratic) on bells of three families, five load
cases each.

Families: Bessel horn of exponent 0.7 (trombone-like, 62.5 mm rim), a trumpet-like flare whose slope grows as
the fourth power of the arc, and a cone that opens, dishes inward and flares again. No published numbers: two
theories, one answer.
"""

from __future__ import annotations

import numpy as np
import pytest
from axisymmetric_solid import Line, Solid
from scipy.interpolate import CubicSpline

from springfit.mechanics.shell.release import ShellOfRevolution

ONE_PERCENT = 0.01  # of the case's largest displacement
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


FAMILIES = {"bessel": bessel, "power": power, "dished": dished}
NOTHING = np.zeros_like
SHAPES = {
    "hoop compression in the outer flare": (NOTHING, lambda x: -75 * x**6, NOTHING, NOTHING),
    "meridional tension, more at the tail": (lambda x: 45 - 40 * x, NOTHING, NOTHING, NOTHING),
    "meridional moment": (NOTHING, NOTHING, lambda x: 2 * np.sin(9 * x) + x, NOTHING),
    "both moments": (NOTHING, NOTHING, lambda x: 1 + x, lambda x: 0.5 + x),
    "all at once": (lambda x: 30 * np.cos(3 * x), lambda x: -50 * x**4, lambda x: 2 * x**2, lambda x: x**2),
}


@pytest.fixture(scope="module", params=FAMILIES)
def both(request: pytest.FixtureRequest) -> tuple[Solid, ShellOfRevolution, np.ndarray]:
    line, wall, poisson = FAMILIES[request.param]()
    solid = Solid(line, t=wall, modulus=MODULUS, poisson=poisson, along=260)
    s = solid.middle_arcs()
    shell = ShellOfRevolution(
        s, line.z(s), line.r(s), line.slope(s), wall=wall, youngs_modulus=MODULUS, poisson_ratio=poisson
    )
    return solid, shell, s


@pytest.mark.parametrize("shape", SHAPES)
def test_displacement(both: tuple[Solid, ShellOfRevolution, np.ndarray], shape: str) -> None:
    solid, shell, s = both
    functions = [lambda a, f=f: f(a / s[-1]) for f in SHAPES[shape]]
    axial, radial = solid.release(*functions, at=s)
    moved = shell.release(*(f(s) for f in functions))
    error = np.hypot(moved.axial - axial, moved.radial - radial)
    assert error.max() < ONE_PERCENT * np.hypot(axial, radial).max()
