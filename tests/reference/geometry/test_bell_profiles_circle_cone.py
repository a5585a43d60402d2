"""Geometry against the circle and the cone, whose formulas are elementary (Euclid; any calculus text).

A circle of radius R opening from the axis: slope = s / R, z = R sin slope, r = r0 + R (1 - cos slope),
curvature 1 / R. A cone of half angle a: slope a, curvature 0.
"""

from __future__ import annotations

import numpy as np
import pytest

from springfit.geometry.meridian import Meridian, meridian_from_stations, offset
from springfit.geometry.seating import nearest_point, slid
from tests.helpers.corrections.made_meridians import meridian_from_arc

ROUNDING = 1e-10  # [mm] or [rad], on lengths of 100 mm
SPLINE = 1e-6  # [mm] of the curve through exact stations
RADIUS, TAIL = 60.0, 10.0  # [mm]
HALF_ANGLE = 0.12  # [rad]
CHORD = 0.3**2 / (8 * RADIUS)  # [mm] sag of a chord between stations 0.3 mm apart


@pytest.fixture
def circle() -> Meridian:
    slope = np.linspace(0.0, 1.5, 301)
    return meridian_from_arc(RADIUS * slope, slope, z0=0.0, r0=TAIL)


@pytest.fixture
def cone() -> Meridian:
    s = np.linspace(0.0, 120.0, 61)
    return meridian_from_arc(s, np.full_like(s, HALF_ANGLE), z0=0.0, r0=TAIL)


def test_circle_place_and_curvature(circle: Meridian) -> None:
    np.testing.assert_allclose(circle.z, RADIUS * np.sin(circle.slope), atol=ROUNDING)
    np.testing.assert_allclose(circle.r, TAIL + RADIUS * (1 - np.cos(circle.slope)), atol=ROUNDING)
    np.testing.assert_allclose(circle.curvature, 1 / RADIUS, atol=ROUNDING)


def test_circle_between_stations(circle: Meridian) -> None:
    s = np.linspace(0.0, circle.length, 1777)
    points = circle.at(s)
    np.testing.assert_allclose(np.hypot(points.z, points.r - TAIL - RADIUS), RADIUS, atol=1e-9)
    np.testing.assert_allclose(points.slope, s / RADIUS, atol=ROUNDING)


@pytest.mark.parametrize("distance", [-3.0, 0.5, 12.0])
def test_circle_offset_is_a_circle(circle: Meridian, distance: float) -> None:
    moved = offset(circle, distance)
    radius = RADIUS - distance
    np.testing.assert_allclose(np.hypot(moved.z, moved.r - TAIL - RADIUS), radius, atol=ROUNDING)
    np.testing.assert_allclose(moved.curvature, 1 / radius, atol=ROUNDING)
    assert moved.length == pytest.approx(radius * 1.5, abs=ROUNDING)


def test_circle_reaches_a_radius(circle: Meridian) -> None:
    rim = 40.0
    angle = np.arccos(1 - (rim - TAIL) / RADIUS)
    assert circle.arc_reaching(rim) == pytest.approx(RADIUS * angle, abs=CHORD / np.sin(angle))


def test_circle_arc_at_z(circle: Meridian) -> None:
    z = np.array([0.0, 7.0, 30.0, 59.0])
    np.testing.assert_allclose(circle.arc_at_z(z), RADIUS * np.arcsin(z / RADIUS), atol=SPLINE)


def test_circle_nearest_point(circle: Meridian) -> None:
    z, r = np.array([5.0, 20.0, 40.0]), np.array([12.0, 9.0, 45.0])
    s, distance = nearest_point(circle, z, r)
    from_centre = np.hypot(z, r - TAIL - RADIUS)
    np.testing.assert_allclose(distance, RADIUS - from_centre, atol=ROUNDING)
    np.testing.assert_allclose(s, RADIUS * np.arctan2(z, TAIL + RADIUS - r), atol=1e-9)


@pytest.mark.parametrize("diameter_error", [0.0, 0.003, 0.02])
def test_circle_from_exact_stations(diameter_error: float) -> None:
    slope = np.linspace(0.0, 1.48, 45)  # 85 degrees at the rim
    z, r = RADIUS * np.sin(slope), TAIL + RADIUS * (1 - np.cos(slope))
    fitted = meridian_from_stations(z, 2 * r, diameter_error=diameter_error)
    np.testing.assert_allclose(np.hypot(fitted.z, fitted.r - TAIL - RADIUS), RADIUS, atol=SPLINE)
    np.testing.assert_allclose(fitted.curvature, 1 / RADIUS, rtol=1e-4)
    assert fitted.length == pytest.approx(RADIUS * 1.48, abs=SPLINE)


def test_cone_place_offset_and_slide(cone: Meridian) -> None:
    np.testing.assert_allclose(cone.r, TAIL + cone.z * np.tan(HALF_ANGLE), atol=ROUNDING)
    assert cone.length == pytest.approx(cone.z[-1] / np.cos(HALF_ANGLE), abs=ROUNDING)
    np.testing.assert_allclose(offset(cone, 0.7).curvature, 0.0, atol=ROUNDING)
    assert offset(cone, 0.7).length == pytest.approx(cone.length, abs=ROUNDING)
    _, gap = nearest_point(cone, slid(cone, 0.4).z[:-1], cone.r[:-1])
    np.testing.assert_allclose(gap, -0.4 * np.sin(HALF_ANGLE), atol=ROUNDING)


def test_cone_reaches_a_radius(cone: Meridian) -> None:
    assert cone.arc_reaching(15.0) == pytest.approx(5.0 / np.sin(HALF_ANGLE), abs=ROUNDING)


def test_noisy_cone_stays_nearly_straight() -> None:
    z = np.linspace(0.0, 300.0, 61)
    noise = np.random.default_rng(5).normal(0.0, 0.005, z.size)
    fitted = meridian_from_stations(z, 2 * (TAIL + z * np.tan(HALF_ANGLE)) + noise, diameter_error=0.005)
    np.testing.assert_allclose(fitted.slope, HALF_ANGLE, atol=1e-3)
    np.testing.assert_allclose(fitted.curvature, 0.0, atol=5e-6)
