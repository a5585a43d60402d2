"""What hands write of a plain cone, against what a drawing of the cone says."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.demo.keeping.measuring import LEAVES_MM, Gauge, Hands, Setting
from springfit.demo.spinning.spun import SpunBell

SLOPE = np.radians(40.0)
WALL_MM, TAIL_MM = 0.5, 10.0
A_TENTH_OF_A_MICRON = 1e-4
EXACT = Gauge("X", "a gauge without error", 0.0, 0.0)
STYLUS = Gauge("S", "a stylus without error", 0.0, 0.0, ball_radius_mm=1.0)


def _cone(*, gap: float = 0.0, axial: float = 0.0, oval: float = 0.0, trim_mm: float = 0.0) -> SpunBell:
    """A conical bell r = 10 + z tan 40 deg, that stood `gap` nearer and `axial` further back on its steel."""
    s = np.linspace(0.0, 60.0, 601)
    flat = np.ones_like(s)
    z, r = s * np.cos(SLOPE), TAIL_MM + s * np.sin(SLOPE)
    return SpunBell(
        s, z - axial, SLOPE * flat, z, r, gap * flat, axial * flat, WALL_MM * flat, oval * flat, 0.0, trim_mm
    )


def _hands() -> Hands:
    return Hands(np.random.default_rng(0), placing_mm=0.0)


TRUE = Setting("witness", 0.0)


def test_outside_diameter_of_a_cone() -> None:
    row = _hands().outside(_cone(), TRUE, np.array([20.0]), EXACT, (0.0,))[0]
    expected = 2.0 * (TAIL_MM + 20.0 * np.tan(SLOPE) + WALL_MM / np.cos(SLOPE))
    assert row["value_mm"] == pytest.approx(expected, abs=A_TENTH_OF_A_MICRON)


def test_a_stylus_writes_its_ball_s_centre_less_the_ball() -> None:
    row = _hands().outside(_cone(), TRUE, np.array([20.0]), STYLUS, (0.0,))[0]
    centre = TAIL_MM + 20.0 * np.tan(SLOPE) + (WALL_MM + 1.0) / np.cos(SLOPE)
    assert row["value_mm"] == pytest.approx(2.0 * (centre - 1.0), abs=A_TENTH_OF_A_MICRON)


def test_out_of_round_shows_at_right_angles() -> None:
    high, low = _hands().outside(_cone(oval=0.03), TRUE, np.array([20.0]), EXACT, (0.0, 90.0))
    assert high["value_mm"] - low["value_mm"] == pytest.approx(4 * 0.03, abs=A_TENTH_OF_A_MICRON)


def test_angles_of_one_station_share_its_error() -> None:
    sloppy = Gauge("X", "placed badly", 0.0, 0.5)
    rows = _hands().outside(_cone(), TRUE, np.array([10.0, 20.0, 30.0]), sloppy, (0.0, 90.0))
    values = np.array([row["value_mm"] for row in rows]).reshape(3, 2)
    assert np.ptp(values, axis=1).max() < A_TENTH_OF_A_MICRON
    assert (
        np.abs(
            values[:, 0] - 2 * (TAIL_MM + np.array([10, 20, 30]) * np.tan(SLOPE) + WALL_MM / np.cos(SLOPE))
        ).max()
        > 0.1
    )


def test_a_ring_rests_where_the_outside_has_its_bore() -> None:
    row = _hands().rings(_cone(), TRUE, np.array([50.0]), EXACT)[0]
    expected = (25.0 - TAIL_MM - WALL_MM / np.cos(SLOPE)) / np.tan(SLOPE)
    assert row["z_mm"] == pytest.approx(expected, abs=A_TENTH_OF_A_MICRON)
    assert row["value_mm"] == 50.0


def test_inside_and_wall() -> None:
    hands = _hands()
    inside = hands.inside(_cone(), TRUE, np.array([20.0]), EXACT)[0]
    assert inside["value_mm"] == pytest.approx(
        2.0 * (TAIL_MM + 20.0 * np.tan(SLOPE)), abs=A_TENTH_OF_A_MICRON
    )
    assert hands.walls(_cone(), TRUE, np.array([20.0]), EXACT)[0]["value_mm"] == pytest.approx(WALL_MM)


@pytest.mark.parametrize(
    ("gap", "leaf"), [(0.030, 0.0), (0.130, 5 * 0.0254), (0.160, 6 * 0.0254), (5.0, LEAVES_MM[-1])]
)
def test_a_feeler_is_the_thickest_leaf_that_passes(gap: float, leaf: float) -> None:
    row = _hands().feelers(_cone(gap=gap), Setting("tail", 0.0), np.array([20.0]), EXACT)[0]
    assert row["value_mm"] == pytest.approx(leaf)


def test_a_seat_toward_the_rim_closes_the_clearance() -> None:
    seated = Setting("tail", 0.1, seat_mm=0.1)
    row = _hands().feelers(_cone(gap=0.2), seated, np.array([20.0]), EXACT)[0]
    left = 0.2 - 0.1 * np.sin(SLOPE)
    assert row["value_mm"] == LEAVES_MM[left >= LEAVES_MM][-1]


def test_the_scribed_line_reads_where_it_was_scribed() -> None:
    bell = _cone(axial=-0.25)
    setting = _hands().witness(bell, 20.0)
    assert setting.reading_z(np.interp(20.0, bell.steel_z, bell.z)) == pytest.approx(
        20.0, abs=A_TENTH_OF_A_MICRON
    )


def test_the_rim_reads_nought_at_its_face_and_counts_back() -> None:
    bell = _cone()
    setting = _hands().from_rim(bell)
    assert setting.reading_z(bell.z[-1]) == pytest.approx(0.0)
    assert setting.reading_z(bell.z[-1] - 5.0) == pytest.approx(5.0)
    longer = _hands().from_rim(_cone(trim_mm=0.1))
    assert longer.reading_z(bell.z[-1]) == pytest.approx(0.1 * np.cos(SLOPE))


def test_a_bell_pushed_home_stops_where_it_touches() -> None:
    bell = _cone(gap=0.1)
    for seed in range(20):
        seat = Hands(np.random.default_rng(seed)).pushed_on(bell, 1.0, 2.0).seat_mm
        assert seat * np.sin(SLOPE) <= 0.1 + 0.02 + 1e-12


def test_readings_past_the_bell_are_not_written() -> None:
    assert _hands().outside(_cone(), TRUE, np.array([-5.0, 200.0]), EXACT, (0.0,)) == []
