"""The shell against a 2-D axisymmetric solid (scikit-fem, quadratic) on bells of three families, five load
cases each.

Families: Bessel horn of exponent 0.7 (trombone-like, 62.5 mm rim), a trumpet-like flare whose slope grows as
the fourth power of the arc, and a cone that opens, dishes inward and flares again. No published numbers: two
theories, one answer.
"""

from __future__ import annotations

import numpy as np
import pytest

from springfit.mechanics.shell.release import ShellOfRevolution
from tests.helpers.shells.axisymmetric_solid import Solid
from tests.helpers.shells.bell_lines import MODULUS, bessel, dished, power

ONE_PERCENT = 0.01  # of the case's largest displacement


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
