"""Thin-shell closed forms: cylinders and cones.

Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, ch. 15-16; Roark tables 11.2, 13.2-13.3
(recalled). E 110 000 MPa, nu 0.33, wall 0.5 mm and radius 60 mm unless said. M_s > 0 puts the outer face in tension.
"""

from __future__ import annotations

import numpy as np
import pytest

from springfit.mechanics.shell.decay import decay_length
from springfit.mechanics.shell.elements import elasticity
from springfit.mechanics.shell.release import ShellOfRevolution
from tests.helpers.shells.shell_under_load import loaded, resultants_left, rotation
from tests.helpers.shells.thin_shell import (
    BENDING,
    MEMBRANE_EXACT,
    MODULUS,
    PERMILLE,
    POISSON,
    RADIUS,
    TENTH_PERMILLE,
    WALL,
    at,
    on_rim,
    shell,
)

BETA = 0.233453988  # 1/mm


def cylinder(length: float = 120.0, tail: str = "axial") -> ShellOfRevolution:
    s = np.linspace(0, length, int(length * 4) + 1)
    return shell(s, s, np.full_like(s, RADIUS), np.zeros_like(s), tail=tail)


def test_the_shell_has_the_printed_stiffness_and_decay() -> None:
    """D = E t^3/12(1 - nu^2) and 1/beta of the tube, as its own elements and mesh have them."""
    tube = cylinder()
    stiffness = elasticity(np.array([WALL]), MODULUS, POISSON)[0]
    assert stiffness[2, 2] == pytest.approx(BENDING, rel=1e-9)
    assert 1 / decay_length(RADIUS, 0.0, wall=WALL, poisson_ratio=POISSON) == pytest.approx(BETA, rel=1e-8)
    assert np.diff(tube.mesh.nodes[0]).max() <= 0.2 / BETA


def test_the_edge_disturbance_decays_and_waves_as_printed() -> None:
    """Along the tube w of an edge shear is w_0 exp(-beta x) cos(beta x)."""
    tube = cylinder()
    moved, _ = loaded(tube, ring_radial=on_rim(tube))
    x = tube.stations.s[-1] - tube.stations.s
    expected = 1 / (2 * BENDING * BETA**3) * np.exp(-BETA * x) * np.cos(BETA * x)
    assert moved.radial == pytest.approx(expected, abs=PERMILLE * expected[-1])


def test_s1_edge_shear() -> None:
    tube = cylinder()
    moved, _ = loaded(tube, ring_radial=on_rim(tube))
    assert moved.radial[-1] == pytest.approx(3.056124934e-2, rel=TENTH_PERMILLE)
    assert rotation(moved)[-1] == pytest.approx(7.134645537e-3, rel=TENTH_PERMILLE)
    expected = {0: 0.03056125, 2: 0.01710920, 5: 0.00373468, 10: -0.00204723, 15: -0.00086208}
    for distance, value in expected.items():
        assert at(tube, moved.radial, distance) == pytest.approx(value, abs=PERMILLE * 3.056e-2)


def test_s1_largest_moment_under_edge_shear() -> None:
    """At pi/(4 beta) from the edge, the inner face in tension under an outward force."""
    tube = cylinder()
    moment = loaded(tube, ring_radial=on_rim(tube))[1].m_s
    deepest = np.argmin(moment)
    assert moment[deepest] == pytest.approx(-1.380987083, rel=PERMILLE)
    assert tube.stations.s[-1] - tube.stations.s[deepest] == pytest.approx(3.364253, abs=0.15)


def test_s2_edge_moment() -> None:
    """A moment that puts the outer face in tension turns the rim inward: the slope falls."""
    tube = cylinder()
    moved, _ = loaded(tube, ring_moment=on_rim(tube, -1.0))
    assert moved.radial[-1] == pytest.approx(-7.134645537e-3, rel=TENTH_PERMILLE)
    assert rotation(moved)[-1] == pytest.approx(-3.331222908e-3, rel=TENTH_PERMILLE)
    assert at(tube, moved.radial, 2) == pytest.approx(-1.98080e-3, abs=PERMILLE * 7.13e-3)
    assert at(tube, moved.radial, 5) == pytest.approx(1.17020e-3, abs=PERMILLE * 7.13e-3)


def test_s3_ring_line_load() -> None:
    tube = cylinder()
    load = np.zeros_like(tube.stations.s)
    middle = load.size // 2
    load[middle] = 1.0
    moved, inside = loaded(tube, ring_radial=load)
    assert moved.radial[middle] == pytest.approx(7.640312335e-3, rel=TENTH_PERMILLE)
    assert np.abs(inside.m_s).max() == pytest.approx(
        1.070874831, rel=5e-3
    )  # a kink: the mean of two elements


def test_s4_pressure_with_open_ends() -> None:
    tube = cylinder()
    assert at(tube, loaded(tube, pressure=0.1)[0].radial, 60) == pytest.approx(
        6.545454545e-3, rel=MEMBRANE_EXACT
    )


def test_s4_pressure_with_closed_ends() -> None:
    tube = cylinder()
    thrust = on_rim(tube, 0.1 * RADIUS / 2)
    closed, _ = loaded(tube, pressure=0.1, ring_axial=thrust)
    assert at(tube, closed.radial, 60) == pytest.approx(5.465454545e-3, rel=MEMBRANE_EXACT)


def test_s4_clamped_edge_under_pressure() -> None:
    tube = cylinder(tail="clamped")
    moved, inside = loaded(tube, pressure=0.1)
    s = tube.stations.s
    assert moved.radial.max() == pytest.approx(6.828309e-3, rel=PERMILLE)
    assert s[np.argmax(moved.radial[: s.size // 2])] == pytest.approx(13.457010, abs=0.25)
    assert abs(inside.m_s[0]) == pytest.approx(0.917418323, rel=PERMILLE)
    shear = np.gradient(inside.m_s, s, edge_order=2)[0]
    assert abs(shear) == pytest.approx(
        0.428349932, rel=PERMILLE
    )  # one-sided difference of the moment at 0.25 mm


def test_s5_free_edge_of_a_wall_hotter_inside() -> None:
    """Release of equal moments: Timoshenko's free-edge stress, 25 % above the far field at nu 0.3."""
    moment = 0.680659204
    tube = cylinder()
    one = np.ones_like(tube.stations.s)
    moved = tube.release(m_s=moment * one, m_theta=moment * one)
    assert moved.radial[-1] == pytest.approx(4.856262152e-3, rel=TENTH_PERMILLE)
    for distance, value in {2: 1.34825e-3, 5: -7.9651e-4, 10: -6.6502e-4}.items():
        assert at(tube, moved.radial, distance) == pytest.approx(value, abs=PERMILLE * 4.856e-3)
    left = resultants_left(tube, m_s=moment * one, m_theta=moment * one)
    assert at(tube, left.m_theta, 60) * 6 / WALL**2 == pytest.approx(16.335821, rel=TENTH_PERMILLE)
    hoop_at_edge = left.n_theta[-1] / WALL + left.m_theta[-1] * 6 / WALL**2
    assert hoop_at_edge == pytest.approx(19.848147, rel=PERMILLE)
    assert left.m_s[-1] == pytest.approx(0, abs=PERMILLE * moment)


def test_s6_meridional_moment_alone() -> None:
    tube = cylinder()
    moved = tube.release(m_s=np.ones_like(tube.stations.s))
    assert moved.radial[-1] == pytest.approx(7.134645537e-3, rel=TENTH_PERMILLE)
    assert rotation(moved)[-1] == pytest.approx(3.331222908e-3, rel=TENTH_PERMILLE)


def test_s7_hoop_moment_alone_moves_nothing() -> None:
    tube = cylinder()
    moved = tube.release(m_theta=np.ones_like(tube.stations.s))
    assert np.abs(moved.normal).max() < 1e-9 and np.abs(moved.axial).max() < 1e-9


def test_s8_hoop_force() -> None:
    tube = cylinder()
    moved = tube.release(n_theta=np.full_like(tube.stations.s, 10.0))
    assert moved.radial == pytest.approx(np.full_like(moved.radial, -1.090909091e-2), rel=MEMBRANE_EXACT)


def test_s9_cone_under_pressure() -> None:
    """Half angle 30 degrees, membrane state fed at the wide end so that only edges bend."""
    half = np.radians(30)
    r = np.linspace(5, 100, 381)
    s = (r - r[0]) / np.sin(half)
    cone = shell(s, s * np.cos(half), r, np.full_like(s, half))
    pull = 0.1 * r[-1] / np.cos(half) / 2
    thrust, spread = on_rim(cone, pull * np.cos(half)), on_rim(cone, pull * np.sin(half))
    moved, _ = loaded(cone, pressure=0.1, ring_axial=thrust, ring_radial=spread)
    for radius, value in ((40, 2.804872580e-3), (20, 7.012181e-4), (60, 6.310963e-3)):
        found = moved.radial[np.argmin(np.abs(r - radius))]
        assert found == pytest.approx(value, rel=PERMILLE)
