"""Feet of points on a meridian, and slides."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.geometry.meridian import Meridian
from springfit.geometry.seating import best_slide, nearest_point, slid
from tests.helpers.corrections.made_meridians import meridian_from_arc


@pytest.fixture
def flare() -> Meridian:
    s = np.linspace(0.0, 200.0, 401)
    return meridian_from_arc(s, 0.02 + 1.4 * np.exp((s - 200.0) / 30.0), z0=0.0, r0=6.0)


def test_points_past_an_end_have_no_foot(flare: Meridian) -> None:
    rim_z, rim_r = flare.z[-1] + 0.5 * np.cos(flare.slope[-1]), flare.r[-1] + 0.5 * np.sin(flare.slope[-1])
    s, distance = nearest_point(flare, [-1.0, 50.0, rim_z], [6.0, 8.0, rim_r])
    np.testing.assert_array_equal(np.isnan(s), [True, False, True])
    np.testing.assert_array_equal(np.isnan(distance), [True, False, True])


def test_the_ends_themselves_have_a_foot(flare: Meridian) -> None:
    s, distance = nearest_point(flare, flare.z[[0, -1]], flare.r[[0, -1]])
    np.testing.assert_allclose(s, [0.0, flare.length], atol=1e-6)
    np.testing.assert_allclose(distance, 0.0, atol=1e-6)


def test_a_missing_reading_stays_missing_and_shape_is_kept(flare: Meridian) -> None:
    s, distance = nearest_point(flare, np.array([[10.0, np.nan]]), np.array([[6.5, 7.0]]))
    assert s.shape == distance.shape == (1, 2)
    assert np.isfinite(distance[0, 0]) and np.isnan(distance[0, 1])


def test_no_points_give_no_feet(flare: Meridian) -> None:
    s, distance = nearest_point(flare, [], [])
    assert s.size == distance.size == 0


def test_weights_set_a_reading_aside() -> None:
    slope = np.array([0.2, 0.6, 1.0, 1.2])
    gap = -0.3 * np.sin(slope) + np.array([0.0, 0.0, 0.5, 0.0])
    assert best_slide(slope, gap, np.array([1.0, 1.0, 0.0, 1.0])) == pytest.approx(0.3, abs=1e-12)
    assert best_slide(slope, gap) != pytest.approx(0.3, abs=0.05)


@pytest.mark.parametrize(
    ("slope", "gap", "weights", "message"),
    [
        ([0.0, 0.0], [0.1, 0.2], None, "no slide can be told"),
        ([0.5, 0.6], [0.1, np.nan], None, "no slide can be told"),
        ([0.5, 0.6], [0.1], None, "shapes"),
        ([0.5, 0.6], [0.1, 0.2], [1.0, -1.0], "weight is -1"),
    ],
)
def test_slides_it_refuses(slope: list, gap: list, weights: list | None, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        best_slide(slope, gap, weights)


def test_slid_moves_only_z(flare: Meridian) -> None:
    moved = slid(flare, 0.7)
    np.testing.assert_allclose(moved.z - flare.z, 0.7, atol=1e-12)
    np.testing.assert_array_equal(moved.r, flare.r)
