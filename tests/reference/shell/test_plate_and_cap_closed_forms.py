"""Plates, caps and coats in closed form: annular plates, spherical caps, a released plate, Stoney's film, growth.

Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells; Roark tables 11.2, 13.2-13.3 (recalled). Values marked ODE
were integrated from the shell's differential equations by an independent code (computed, not published).
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.helpers.shells.shell_under_load import loaded, rotation
from tests.helpers.shells.thin_shell import (
    MEMBRANE_EXACT,
    MODULUS,
    POISSON,
    TENTH_PERMILLE,
    WALL,
    on_rim,
    shell,
)


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
