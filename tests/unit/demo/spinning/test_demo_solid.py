"""The 2-D solid against closed forms and a thin-shell boundary-value solution of the same bell.

The bell is r = 793.123009 (x + 17.259332)^-0.7, x = 0 ... 150 mm from the mouth, wall 0.5 mm about it,
E = 110 000 MPa, nu = 0.33. Rim values of a Kirchhoff-Love solution (four-function boundary-value problem) for
released resultants: equal moments 1 N, hoop 10 N/mm, meridional 10 N/mm.
"""

from __future__ import annotations

import numpy as np
import pytest

from springfit.demo.spinning import solid
from springfit.demo.spinning.families import BellLine, line_through
from springfit.demo.spinning.solid import LockedStress, Solid

WALL_MM, NU = 0.5, 0.33
ONE_PERCENT, HALF_PERCENT = 0.01, 0.005
# (radial motion of the middle surface at the rim [mm], rotation there [rad])
MOMENT_1N = (1.193378e-2, 8.819657e-3)
HOOP_10 = (-0.019304, -7.896809e-4)
MERIDIONAL_10 = (0.006147, 7.896809e-4)


def _bell() -> BellLine:
    """The inside surface of the bell whose middle surface is the published curve."""
    x = np.linspace(0.0, 150.0, 3000)[::-1]
    middle = line_through(150.0 - x, 793.123009 * (x + 17.259332) ** -0.7)
    return middle.moved_along_normal(np.full_like(middle.s, -WALL_MM / 2))


def _stress(
    line: BellLine, meridional: float, hoop: float, bending: float, hoop_bending: float
) -> LockedStress:
    one = np.ones_like(line.s)
    return LockedStress(meridional * one, hoop * one, bending * one, hoop_bending * one)


def _rim_radial(line: BellLine, stress: LockedStress) -> float:
    moved = Solid(line, np.full_like(line.s, WALL_MM), poisson_ratio=NU).release(stress)
    slope = line.slope[-1]
    return float(np.cos(slope) * moved.normal[-1] + np.sin(slope) * moved.tangential[-1])


def _inside(middle: tuple[float, float], slope: float) -> float:
    """The middle surface's motion carried to the inside face: half a wall turned by the rotation."""
    radial, rotation = middle
    return radial + rotation * WALL_MM / 2 * np.sin(slope)


def test_equal_stress_everywhere_only_scales_the_bell() -> None:
    """n = n_s = n_theta: u = -n (1 - nu) / (E t) r, exact for any middle surface; the wall thickens too.

    Not within 10 mm of the tail, whose end face is held flat.
    """
    line = _bell()
    strain = -20.0 * (1 - NU) / 110_000.0
    thicker = 2.0 * NU * 20.0 / 110_000.0 * WALL_MM
    moved = Solid(line, np.full_like(line.s, WALL_MM), poisson_ratio=NU).release(
        _stress(line, 20.0, 20.0, 0.0, 0.0)
    )
    z, r, slope = line.points_at(moved.s)
    radial = np.cos(slope) * moved.normal + np.sin(slope) * moved.tangential
    expected = strain * (r + WALL_MM / 2 * np.cos(slope)) - thicker / 2 * np.cos(slope)
    assert np.abs(radial / expected - 1.0)[moved.s > 10.0].max() < HALF_PERCENT
    assert moved.axial[-1] == pytest.approx(strain * (z[-1] - z[0]), rel=ONE_PERCENT)


@pytest.mark.parametrize(
    ("stress", "middle"),
    [
        # the through-wall form 1.5 x - 0.5 x^3 carries a moment of 0.2 sigma t^2: 20 MPa for 1 N
        ((0.0, 0.0, 20.0, 20.0), MOMENT_1N),
        ((0.0, 20.0, 0.0, 0.0), HOOP_10),
        ((20.0, 0.0, 0.0, 0.0), MERIDIONAL_10),
    ],
)
def test_the_rim_moves_as_a_thin_shell_says(
    stress: tuple[float, float, float, float], middle: tuple[float, float]
) -> None:
    line = _bell()
    assert _rim_radial(line, _stress(line, *stress)) == pytest.approx(
        _inside(middle, line.slope[-1]), rel=ONE_PERCENT
    )


def test_a_finer_mesh_says_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    line = _bell()
    stress = _stress(line, 10.0, -40.0, 30.0, 20.0)
    coarse = _rim_radial(line, stress)
    usual = solid._stations

    def twice(line: BellLine, wall: np.ndarray) -> np.ndarray:
        ends = usual(line, wall)
        return np.sort(np.concatenate([ends, 0.5 * (ends[1:] + ends[:-1])]))

    monkeypatch.setattr(solid, "_stations", twice)
    assert _rim_radial(line, stress) == pytest.approx(coarse, rel=1e-3)


def test_fields_together_are_the_fields_apart() -> None:
    line = _bell()
    one = np.ones_like(line.s)
    held = Solid(line, np.full_like(line.s, WALL_MM))
    pair = held.release(
        LockedStress(*(np.column_stack([a * one, b * one]) for a, b in ((3, 0), (0, -5), (1, 2), (0, 4))))
    )
    first = held.release(_stress(line, 3.0, 0.0, 1.0, 0.0))
    second = held.release(_stress(line, 0.0, -5.0, 2.0, 4.0))
    assert np.allclose(pair.normal, np.column_stack([first.normal, second.normal]), atol=1e-12)
    assert np.allclose(pair.axial, np.column_stack([first.axial, second.axial]), atol=1e-12)
    assert np.abs(pair.axial[0]).max() < 1e-12  # the tail is held along the axis
