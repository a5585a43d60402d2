"""Bending against a section cut into a thousand layers, and what it refuses."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from springfit.mechanics.bending import bend, radius_to_bend
from springfit.mechanics.stress_strain import Bilinear, Curve, PowerLaw, plane_strain

WALL = 0.5
CURVES: tuple[Curve, ...] = (
    Bilinear(123e3, 170.0),
    Bilinear(123e3, 170.0, 900.0),
    PowerLaw(123e3, 1100.0, 0.45),
)


@given(st.sampled_from(CURVES), st.floats(3, 400), st.floats(-0.9, 0.9))
def test_closed_integrals_agree_with_layers(curve: Curve, radius: float, share: float) -> None:
    tension = share * 170 * WALL
    bent = bend(curve, 1 / radius, wall=WALL, tension=tension)
    y = (np.arange(4000) + 0.5) / 4000 * WALL - WALL / 2
    stress = curve.stress(bent.membrane_strain + y / radius)
    assert stress.mean() * WALL == pytest.approx(tension, abs=0.02)
    assert (stress * y).mean() * WALL == pytest.approx(float(bent.moment), abs=2e-3)
    residual = bent.residual_stress(y)
    assert residual.mean() == pytest.approx(0, abs=0.05)
    assert (residual * y).mean() * WALL == pytest.approx(0, abs=2e-3)


@given(st.sampled_from(CURVES), st.floats(5, 2000), st.floats(0, 0.9))
def test_the_inverse_comes_back(curve: Curve, wanted: float, share: float) -> None:
    tension = share * 170 * WALL
    radius = radius_to_bend(curve, wanted, wall=WALL, tension=tension)
    assert radius <= wanted
    assert 1 / bend(curve, 1 / radius, wall=WALL, tension=tension).recovered == pytest.approx(
        wanted, rel=1e-6
    )


@given(st.sampled_from(CURVES), st.floats(3, 100))
def test_tension_never_adds_to_the_recovery(curve: Curve, radius: float) -> None:
    tension = np.linspace(0, 0.95, 12) * 170 * WALL
    assert (np.diff(bend(curve, 1 / radius, wall=WALL, tension=tension).ratio) > -1e-9).all()


def test_the_stress_is_the_slope_of_its_primitives() -> None:
    for curve in CURVES:
        e = np.linspace(-0.02, 0.02, 401)
        h = 1e-7
        slope = (curve.area(e + h) - curve.area(e - h)) / (2 * h)
        first = (curve.first_moment(e + h) - curve.first_moment(e - h)) / (2 * h)
        assert slope == pytest.approx(curve.stress(e), abs=0.01)
        assert first == pytest.approx(e * curve.stress(e), abs=0.01)
        assert curve.strain(curve.stress(e[300:350] * 0.05)) == pytest.approx(e[300:350] * 0.05)


def test_bad_input_is_named() -> None:
    with pytest.raises(ValueError, match="curvature: found -0"):
        bend(CURVES[0], -0.01, wall=WALL)
    with pytest.raises(ValueError, match="wall: found 0"):
        bend(CURVES[0], 0.01, wall=0.0)
    with pytest.raises(ValueError, match=r"tension: found 90\.0 N/mm, expected less than 85"):
        bend(CURVES[0], 0.01, wall=WALL, tension=90.0)
    with pytest.raises(ValueError, match="wanted_radius: found inf"):
        radius_to_bend(CURVES[0], np.inf, wall=WALL)
    with pytest.raises(ValueError, match="tangent: found"):
        Bilinear(1e5, 100.0, 2e5)
    with pytest.raises(ValueError, match=r"poisson_ratio: found 0\.5"):
        plane_strain(1e5, 0.5)
