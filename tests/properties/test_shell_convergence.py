"""Error against element size: cubic elements promise the fourth power for displacement, the second for
moment.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from springfit.mechanics.shell.release import Release, ShellOfRevolution
from tests.helpers.shells.shell_under_load import Resultants, resultants_left, rotation

SLOPE_WITHIN = 0.15
COUNTS = (32, 48, 64, 96)
FINEST = 768  # shares its stations with every count


def solved(elements: int) -> tuple[Release, Resultants]:
    """A flare of 4 to 60 degrees, tail held, with fields that a mesh of any size carries exactly."""
    fine = np.linspace(0, 60, 20_001)
    angle = np.radians(4 + 56 * (fine / 60) ** 2)
    z, r = (CubicSpline(fine, f(angle)).antiderivative()(fine) for f in (np.cos, np.sin))
    s = np.linspace(0, 60, elements + 1)
    at = [CubicSpline(fine, values)(s) for values in (z, 20 + r, angle)]
    shell = ShellOfRevolution(
        s, *at, wall=0.8, youngs_modulus=110e3, poisson_ratio=0.33, tail="clamped", fineness=1e6
    )
    fields = (20 - s / 6, -s, 1 + s / 60, np.full_like(s, 0.5))
    return shell.release(*fields), resultants_left(shell, *fields)


def asked(quantity: str, released: Release, left: Resultants) -> np.ndarray:
    return rotation(released) if quantity == "rotation" else getattr(left if quantity == "m_s" else released, quantity)


@pytest.mark.parametrize(("quantity", "promised"), [("normal", 4), ("axial", 4), ("rotation", 4), ("m_s", 2)])
def test_rate(quantity: str, promised: int) -> None:
    truth = asked(quantity, *solved(FINEST))
    errors = []
    for count in COUNTS:
        found = asked(quantity, *solved(count))
        errors.append(np.sqrt(np.mean((found - truth[:: FINEST // count]) ** 2)))
    rate = -np.polyfit(np.log(COUNTS), np.log(errors), 1)[0]
    assert rate == pytest.approx(promised, abs=SLOPE_WITHIN), f"errors {errors}"
