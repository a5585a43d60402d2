"""A Bessel-horn bell, r = b (x + x0)^-0.7, solved as a Kirchhoff-Love boundary-value problem by an
independent code.

Profile: Smyth & Scott, "Trombone synthesis by model and measurement", exponent 0.7. Numbers: computed only,
from the ordinary differential equations of the shell (no published table); E 110 000 MPa, nu 0.33, wall 0.5
mm, clamped at x = 150 mm, free at the rim. x runs from the rim inward, mm. u_r and u_z at x = 0, 2, 5, 10, 20
and the rim rotation.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from springfit.mechanics.shell.release import Release, ShellOfRevolution
from tests.helpers.shells.shell_under_load import loaded, rotation

DEFAULT_MESH = 3e-3  # of each case's largest tabulated value
FINE_MESH = 1e-4
B, X0, EXPONENT, LENGTH = 793.123009, 17.259332, -0.7, 150.0
PLACES = np.array([0.0, 2.0, 5.0, 10.0, 20.0])

A_RADIAL = (1.193378e-2, 5.592368e-4, -2.542195e-3, -3.778610e-4, 2.696e-5)
A_AXIAL = (-5.113264e-2, -4.384775e-3, 6.137979e-3, 7.721280e-4, -3.147e-5)
A_ROTATION = 8.819657e-3
CASES = {
    "both moments": (A_RADIAL, A_AXIAL, A_ROTATION),
    "m_s": (
        (1.072775e-2, 1.661691e-4, -2.405984e-3, -2.562376e-4, 5.847e-5),
        (-4.617977e-2, -2.788596e-3, 5.952124e-3, 5.978632e-4, -5.122e-5),
        8.346251e-3,
    ),
    "m_theta": (
        (1.206031e-3, 3.930677e-4, -1.362115e-4, -1.216234e-4, -3.151e-5),
        (-4.952873e-3, -1.596178e-3, 1.858557e-4, 1.742648e-4, 1.975e-5),
        4.734051e-4,
    ),
    "n_theta": (
        (-0.019304, -0.018188, -0.016509, -0.014265, -0.011455),
        (0.041007, 0.034544, 0.027086, 0.019631, 0.013137),
        -7.896809e-4,
    ),
    "n_s": (
        (0.006147, 0.006004, 0.005499, 0.004711, 0.003778),
        (-0.059132, -0.052425, -0.044602, -0.036538, -0.028825),
        7.896809e-4,
    ),
    "rim moment": (tuple(-v for v in A_RADIAL), tuple(-v for v in A_AXIAL), -A_ROTATION),
    "rim radial force": (
        (3.359368e-2, 1.299587e-2, -8.000963e-4, -1.302105e-3, 7.26e-5),
        (-1.303967e-1, -4.554610e-2, 7.031e-4, 2.431307e-3, -8.05e-5),
        1.193378e-2,
    ),
}


def bell(stations: int, fineness: float) -> tuple[ShellOfRevolution, np.ndarray]:
    """The shell and the distance x from the rim of its stations, which are even in arc."""
    rate = lambda x: EXPONENT * B * (x + X0) ** (EXPONENT - 1)  # noqa: E731
    dense = np.linspace(0, LENGTH, 200_001)
    speed = np.hypot(1, rate(dense))
    arc = np.concatenate([[0], np.cumsum((speed[1:] + speed[:-1]) / 2 * np.diff(dense))])
    s = np.linspace(0, arc[-1], stations)
    x = np.interp(arc[-1] - s, arc, dense)
    shell = ShellOfRevolution(
        s, LENGTH - x, B * (x + X0) ** EXPONENT, np.arctan(-rate(x)),
        wall=0.5, youngs_modulus=110_000, poisson_ratio=0.33, tail="clamped", fineness=fineness,
    )  # fmt: skip
    return shell, x


def displaced(shell: ShellOfRevolution, case: str) -> Release:
    one = np.ones(shell.stations.s.size)
    at_rim = np.zeros_like(one)
    at_rim[-1] = 1.0
    return {
        "both moments": lambda: shell.release(m_s=one, m_theta=one),
        "m_s": lambda: shell.release(m_s=one),
        "m_theta": lambda: shell.release(m_theta=one),
        "n_theta": lambda: shell.release(n_theta=10 * one),
        "n_s": lambda: shell.release(n_s=10 * one),
        "rim moment": lambda: loaded(shell, ring_moment=-at_rim)[0],
        "rim radial force": lambda: loaded(shell, ring_radial=at_rim)[0],
    }[case]()


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize(
    ("stations", "fineness", "tolerance"), [(200, 0.4, DEFAULT_MESH), (800, 0.1, FINE_MESH)]
)
def test_displacement(case: str, stations: int, fineness: float, tolerance: float) -> None:
    shell, x = bell(stations, fineness)
    found = displaced(shell, case)
    radial, axial, turned = CASES[case]
    for name, values, expected in (("radial", found.radial, radial), ("axial", found.axial, axial)):
        at_places = CubicSpline(x[::-1], values[::-1])(PLACES)
        error = np.abs(at_places - expected).max() / abs(expected[0])
        assert error < tolerance, f"{name}: {error:.2e} of the rim value"
    assert rotation(found)[-1] == pytest.approx(turned, rel=tolerance)


def test_equal_membrane_forces_grow_the_free_bell_like_its_shape() -> None:
    """Identity, and a general-purpose finite-element program's -1.31557e-2: rim 108 mm, n_s = n_theta = 10
    N/mm.
    """
    clamped, _ = bell(400, 0.4)
    p = clamped.stations
    free = ShellOfRevolution(p.s, p.z, p.r, p.slope, wall=0.5, youngs_modulus=110_000, poisson_ratio=0.33)
    ten = np.full_like(p.s, 10.0)
    assert free.release(ten, ten).radial[-1] == pytest.approx(-1.315636364e-2, rel=1e-6)
