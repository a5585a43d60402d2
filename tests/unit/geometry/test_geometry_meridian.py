"""A meridian's arrays, its bounds, and every input it refuses by name."""

from __future__ import annotations

import pickle

import numpy as np
import pytest

from springfit.geometry.meridian import Meridian, meridian_from_stations, offset
from tests.helpers.corrections.made_meridians import meridian_from_arc

ROUNDING = 1e-9  # [mm]


@pytest.fixture
def flare() -> Meridian:
    s = np.linspace(0.0, 100.0, 201)
    return meridian_from_arc(s, 0.1 + 1.2 * (s / 100) ** 3, z0=5.0, r0=8.0)


def test_arrays_are_read_only_copies(flare: Meridian) -> None:
    with pytest.raises(ValueError, match="read-only"):
        flare.z[0] = 1.0
    s = np.array([0.0, 1.0])
    line = Meridian(s, s, s + 1, s * 0, s * 0)
    s[1] = 9.0
    assert line.length == 1.0


def test_it_survives_being_sent_to_another_process(flare: Meridian) -> None:
    flare.at(3.0)
    again = pickle.loads(pickle.dumps(flare))
    np.testing.assert_array_equal(again.at([1.0, 50.0]).r, flare.at([1.0, 50.0]).r)


def test_points_at_stations_are_the_stations(flare: Meridian) -> None:
    points = flare.at(flare.s)
    for name in ("z", "r", "slope", "curvature"):
        np.testing.assert_allclose(getattr(points, name), getattr(flare, name), atol=ROUNDING)


def test_at_keeps_the_shape_asked_for(flare: Meridian) -> None:
    assert flare.at(np.ones((3, 2))).slope.shape == (3, 2)
    assert np.ndim(flare.at(1.0).z) == 0


@pytest.mark.parametrize("s", [-0.05, 100.05, np.nan])
def test_no_extrapolation(flare: Meridian, s: float) -> None:
    with pytest.raises(ValueError, match="lies off the meridian, expected 0 to 100 mm"):
        flare.at([50.0, s])


def test_resampled_keeps_ends_and_shape(flare: Meridian) -> None:
    coarse = flare.resampled(2.0)
    assert coarse.s.size == 51
    assert coarse.length == pytest.approx(flare.length, abs=ROUNDING)
    assert coarse.r[-1] == pytest.approx(flare.r[-1], abs=ROUNDING)
    np.testing.assert_allclose(coarse.at(flare.s).r, flare.r, atol=1e-4)
    with pytest.raises(ValueError, match="step is 0"):
        flare.resampled(0.0)


def test_arc_at_z_undoes_z(flare: Meridian) -> None:
    s = np.linspace(0.0, flare.length, 333)
    np.testing.assert_allclose(flare.arc_at_z(flare.at(s).z), s, atol=1e-6)


@pytest.mark.parametrize("value", [-1.0, 500.0, np.nan])
def test_crossings_off_the_steel_are_refused(flare: Meridian, value: float) -> None:
    with pytest.raises(ValueError, match="lies off the meridian"):
        flare.arc_at_z(value)


def test_a_radius_past_an_end_is_reached_at_that_end(flare: Meridian) -> None:
    reached = flare.arc_reaching([0.5 * flare.r[0], flare.r[0], flare.r[120], flare.r[-1], 500.0])
    np.testing.assert_allclose(reached, [0.0, 0.0, flare.s[120], flare.length, flare.length], atol=ROUNDING)
    assert np.isnan(flare.arc_reaching(np.nan))


def test_offset_by_a_varying_distance_turns_the_slope(flare: Meridian) -> None:
    distance = 0.3 * np.sin(flare.s / 15.0)
    moved = offset(flare, distance)
    np.testing.assert_allclose(moved.r - flare.r, distance * np.cos(flare.slope), atol=ROUNDING)
    inside = slice(2, -2)
    chord = np.arctan2(np.gradient(moved.r, flare.s), np.gradient(moved.z, flare.s))
    np.testing.assert_allclose(moved.slope[inside], chord[inside], atol=2e-4)
    np.testing.assert_allclose(moved.curvature[inside], np.gradient(moved.slope, moved.s)[inside], atol=2e-4)


def test_offset_refuses_to_fold(flare: Meridian) -> None:
    with pytest.raises(ValueError, match="folds the curve"):
        offset(flare, 40.0)
    with pytest.raises(ValueError, match="distance"):
        offset(flare, np.full(flare.s.size, np.nan))
    with pytest.raises(ValueError, match="3 distances"):
        offset(flare, np.zeros(3))


Z = np.linspace(0.0, 70.0, 8)
D = np.linspace(12.0, 20.0, 8)


@pytest.mark.parametrize(
    ("z", "diameter", "keywords", "message"),
    [
        (Z[::-1], D, {}, r"z\[1\] is 60.0 mm after 70.0 mm, expected z to increase"),
        (np.where(Z == 30.0, 20.0, Z), D, {}, r"z\[3\] is 20.0 mm after 20.0 mm"),
        (np.where(Z == 30.0, np.nan, Z), D, {}, r"z\[3\] is nan"),
        (Z, np.where(Z == 40.0, np.nan, D), {}, r"diameter\[4\] is nan"),
        (Z, np.where(Z == 40.0, np.inf, D), {}, r"diameter\[4\] is inf"),
        (Z, np.where(Z == 40.0, -3.0, D), {}, r"diameter\[4\] is -3.0 mm, expected a positive"),
        (Z[:3], D[:3], {}, "3 stations, expected at least 4"),
        (Z, D[:7], {}, "8 values of z, 7 diameters"),
        (Z.reshape(2, 4), D, {}, "z has 2 dimensions"),
        (Z, D, {"diameter_error": -0.1}, "diameter_error is -0.1 mm, expected 0 or more"),
        (Z, D, {"diameter_error": np.nan}, "diameter_error is nan"),
        (Z, D, {"z_error": -0.1}, "z_error is -0.1 mm"),
        (Z, D, {"step": 0.0}, "step is 0.0 mm"),
    ],
)
def test_stations_it_refuses(z: np.ndarray, diameter: np.ndarray, keywords: dict, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        meridian_from_stations(z, diameter, **{"diameter_error": 0.003, **keywords})


@pytest.mark.parametrize(
    ("s", "message"),
    [
        ([0.0, 2.0, 1.0], "increase"),
        ([1.0, 2.0, 3.0], "start at 0"),
        ([0.0], "sizes|sized"),
        ([0.0, np.nan, 2.0], "s\\[1\\]"),
    ],
)
def test_meridians_it_refuses(s: list[float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Meridian(*[np.array(s)] * 5)
