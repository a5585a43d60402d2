"""Thin-shell closed forms: cylinders, cones, annular plates, spherical caps.

Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, ch. 15-16; Roark tables 11.2, 13.2-13.3
(recalled). Values marked ODE were integrated from the shell's differential equations by an independent code
(computed, not published). E 110 000 MPa, nu 0.33, wall 0.5 mm and radius 60 mm unless said. M_s > 0 puts the
outer face in tension.
"""

from __future__ import annotations

import numpy as np
import pytest
from shell_under_load import loaded, resultants_left, rotation

from springfit.mechanics.shell.decay import decay_length
from springfit.mechanics.shell.elements import elasticity
from springfit.mechanics.shell.release import ShellOfRevolution

MODULUS, POISSON, WALL, RADIUS = 110_000.0, 0.33, 0.5, 60.0
BENDING = 1285.863914  # E t^3 / 12 (1 - nu^2), N mm
BETA = 0.233453988  # 1/mm
TENTH_PERMILLE, PERMILLE = 1e-4, 1e-3
MEMBRANE_EXACT = 1e-6


def shell(s, z, r, slope, *, wall=WALL, modulus=MODULUS, poisson=POISSON, tail="axial", fineness=0.2):
    return ShellOfRevolution(
        s, z, r, slope, wall=wall, youngs_modulus=modulus, poisson_ratio=poisson, tail=tail, fineness=fineness
    )


def cylinder(length: float = 120.0, tail: str = "axial") -> ShellOfRevolution:
    s = np.linspace(0, length, int(length * 4) + 1)
    return shell(s, s, np.full_like(s, RADIUS), np.zeros_like(s), tail=tail)


def on_rim(tube: ShellOfRevolution, value: float = 1.0) -> np.ndarray:
    load = np.zeros_like(tube.stations.s)
    load[-1] = value
    return load


def at(tube: ShellOfRevolution, values: np.ndarray, distance: float) -> float:
    """Value at a distance from the rim that is a station."""
    return float(values[np.argmin(np.abs(tube.stations.s[-1] - distance - tube.stations.s))])


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


@pytest.mark.parametrize(
    ("edge", "drop", "slopes"),
    [
        ("outer", -2.017974895, (-6.999272727e-2, -6.981818182e-2)),
        ("inner", 1.228593077, (3.490909091e-2, 5.227636364e-2)),
    ],
)
def test_s10_annulus_with_an_edge_moment(edge: str, drop: float, slopes: tuple[float, float]) -> None:
    """A flat plate: w toward +z is along the bell's axis; the normal (-sin 90, cos 90) points to -z.

    M_r > 0 stretches the outer face (the -z one), so w here is minus the axial motion of the table's upward
    normal.
    """
    r = np.linspace(30, 60, 121)
    plate = shell(r - 30, np.zeros_like(r), r, np.full_like(r, np.pi / 2))
    load = np.zeros_like(r)
    load[-1 if edge == "outer" else 0] = -1.0 if edge == "outer" else 1.0
    moved, _ = loaded(plate, ring_moment=load)
    w = moved.normal
    assert w[-1] - w[0] == pytest.approx(drop, rel=TENTH_PERMILLE)
    assert (rotation(moved)[-1], rotation(moved)[0]) == pytest.approx(slopes, rel=TENTH_PERMILLE)


@pytest.mark.parametrize(
    ("inner", "slope", "deflection"), [(30, 0.02336956746, 0.3771160279), (54, 0.004734145837, 0.01443862004)]
)
def test_s10_annulus_clamped_inside(inner: float, slope: float, deflection: float) -> None:
    r = np.linspace(inner, 60, 121)
    plate = shell(r - inner, np.zeros_like(r), r, np.full_like(r, np.pi / 2), tail="clamped")
    moved, _ = loaded(plate, ring_moment=on_rim(plate))
    assert rotation(moved)[-1] == pytest.approx(slope, rel=TENTH_PERMILLE)
    assert abs(moved.axial[-1]) == pytest.approx(deflection, rel=TENTH_PERMILLE)


@pytest.mark.parametrize(
    ("modulus", "poisson", "wall", "radius", "degrees", "pressure", "moment", "apex"),
    [
        (MODULUS, 0.3, 0.5, 60, 90, 0.1, 0.318387, 2.50270671e-3),
        (MODULUS, 0.33, 0.5, 60, 60, 0.1, 0.318689, 2.44194425e-3),
        (MODULUS, 0.33, 0.5, 60, 35, 0.1, 0.335038, 2.58663838e-3),
        (200_000.0, 0.3, 2.0, 100, 60, 1.0, 22.390503, None),
    ],
)
def test_s11_spherical_cap_clamped(
    modulus: float, poisson: float, wall: float, radius: float, degrees: float, pressure: float,
    moment: float, apex: float | None,
) -> None:  # fmt: skip
    """From the clamped edge (tail) to the apex, left open by a pinhole of 1 % of the radius; ODE values, 0.5
    %.
    """
    open_at, edge = np.arcsin(0.01), np.radians(degrees)
    angle = edge - (edge - open_at) * np.linspace(0, 1, 1201)
    s = radius * (edge - angle)
    cap = shell(
        s, radius * (np.cos(angle) - np.cos(edge)), radius * np.sin(angle), angle - np.pi / 2,
        wall=wall, modulus=modulus, poisson=poisson, tail="clamped",
    )  # fmt: skip
    moved, inside = loaded(cap, pressure=pressure)
    assert abs(inside.m_s[0]) == pytest.approx(moment, rel=5e-3)
    if apex is not None:
        middle = np.argmin(np.abs(angle - 0.06))  # clear of the pinhole's own stress
        assert moved.axial[middle] == pytest.approx(apex, rel=5e-3)


def test_released_plate_curls_as_its_closed_form() -> None:
    """A free flat annulus with equal moments m = S t^2/6 takes the plate's curvature 2 S (1 - nu)/(E t)."""
    r = np.linspace(5, 60, 111)
    plate = shell(r - 5, np.zeros_like(r), r, np.full_like(r, np.pi / 2))
    moment = np.full_like(r, 100 * WALL**2 / 6)
    curvature = 2 * 100 * (1 - POISSON) / (MODULUS * WALL)
    turned = rotation(plate.release(m_s=moment, m_theta=moment))
    assert turned == pytest.approx(curvature * r, rel=MEMBRANE_EXACT)


@pytest.mark.parametrize(
    ("modulus", "poisson", "wall", "film_stress", "film", "curvature"),
    [
        (MODULUS, POISSON, 0.5, 100, 0.01, 1.46181818e-4),
        (MODULUS, POISSON, 0.5, -200, 0.005, -1.46181818e-4),
        (169_000.0, 0.27, 0.525, 300, 0.001, 2.82091535e-5),
    ],
)
def test_stoney(
    modulus: float, poisson: float, wall: float, film_stress: float, film: float, curvature: float
) -> None:
    """Stoney's film: its force at the face is a moment sigma_f t_f t/2, let go by a free plate."""
    r = np.linspace(5, 60, 111)
    plate = shell(
        r - 5, np.zeros_like(r), r, np.full_like(r, np.pi / 2), wall=wall, modulus=modulus, poisson=poisson
    )
    moment = np.full_like(r, film_stress * film * wall / 2)
    assert rotation(plate.release(m_s=moment, m_theta=moment)) == pytest.approx(
        curvature * r, rel=MEMBRANE_EXACT
    )


def test_similarity_growth_sets_the_mandrel() -> None:
    """A bell that grows like its shape by 1e-3 to a 216 mm rim was laid on 215.784215784 mm."""
    rim, growth = 215.784215784, 1e-3
    s = np.linspace(0, 120, 241)
    line = s * np.cos(0.7), rim / 2 + (s - s[-1]) * np.sin(0.7)
    bell = shell(s, *line, np.full_like(s, 0.7))
    force = np.full_like(s, -growth * MODULUS * WALL / (1 - POISSON))
    assert rim + 2 * bell.release(force, force).radial[-1] == pytest.approx(216, rel=1e-9)
