"""A size set wrongly for every bell of a batch beside what a spun bell can do at one station.

A ring of force on a thin tube lifts it by w0 exp(-bx) (cos bx + sin bx) with b = (3 (1 - nu^2))^(1/4) / sqrt(r t)
(Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., art. 114): nothing elastic is narrower, and w0
is its hoop strain times r. A swelling of passes toward the tail is wider still.
"""

from __future__ import annotations

import numpy as np
import pytest

from springfit.records.checks.slips.lone_rings import off_alone

WALL, NU = 0.5, 0.34  # mm; brass
BEND = (3 * (1 - NU**2)) ** 0.25  # over sqrt(r t)
STATIONS = np.arange(100.0, 301.0, 10.0)
SD = 0.01
TUBE, FLARE = 10.0, 60.0  # radii


def off_of(level: np.ndarray, station: np.ndarray, away: np.ndarray, radius: float = TUBE) -> np.ndarray:
    """What `off_alone` says of one sheet of a steel of that radius [mm], read to a hundredth."""
    one = np.zeros(len(level), dtype=int)
    return off_alone(level, station, one, away, np.full(len(level), SD), np.full(len(level), radius))


def told(level: np.ndarray, station: np.ndarray = STATIONS, radius: float = TUBE) -> np.ndarray:
    """What is told of a sheet whose readings are as far from their neighbours as from other bells."""
    return off_of(level, station, level, radius)


def ring_of_force(height: float, every: float, radius: float) -> tuple[np.ndarray, np.ndarray]:
    station = np.arange(100.0, 400.0, every)
    x = BEND / np.sqrt(radius * WALL) * np.abs(station - station[len(station) // 2])
    return station, height * np.exp(-x) * (np.cos(x) + np.sin(x))


@pytest.mark.parametrize("size", [1.0, 3.0, -1.0])
def test_a_jump_at_one_station_is_told(size: float) -> None:
    """A diameter 1 mm off on a tube is 0.5 mm a side."""
    level = np.where(np.arange(len(STATIONS)) == 10, size / 2, 0.01)
    assert np.flatnonzero(np.isfinite(told(level))).tolist() == [10]


def test_both_readings_of_one_ring_may_be_of_the_wrong_size() -> None:
    """0 and 90 degrees bear each other out, and the bell beside them neither."""
    station = np.repeat(STATIONS, 2)
    level = np.where(np.arange(len(station)) // 2 == 10, 0.5, 0.01)
    off = off_of(level, station, np.zeros(len(level)))
    assert np.flatnonzero(np.isfinite(off)).tolist() == [20, 21]
    assert off[20:22] == pytest.approx([0.49, 0.49])


@pytest.mark.parametrize("radius", [6.0, 12.0, 30.0, 60.0])
@pytest.mark.parametrize("every", [1.0, 3.0, 10.0, 25.0])
def test_no_elastic_ridge_is_told(every: float, radius: float) -> None:
    """However far apart the stations are: springback strains brass by 0.45 % at most, and lifts it by as much of r."""
    station, level = ring_of_force(0.0045 * radius, every, radius)
    before, after = np.roll(level, 1), np.roll(level, -1)
    assert not np.isfinite(off_of(level, station, level - (before + after) / 2, radius)).any()


@pytest.mark.parametrize(("every", "width", "height"), [(10.0, 23.0, 0.45), (15.0, 12.0, 0.45), (25.0, 12.0, 0.29)])
def test_a_swelling_of_the_throat_is_none(every: float, width: float, height: float) -> None:
    """Over two inches or four; where stations stand so far apart that none beside sees it, no higher than 0.3 mm."""
    station = np.arange(100.0, 400.0, every)
    level = height * np.exp(-(((station - station[len(station) // 2]) / width) ** 2) / 2)
    before, after = np.roll(level, 1), np.roll(level, -1)
    assert not np.isfinite(off_of(level, station, level - (before + after) / 2)).any()


def test_a_ring_lifted_by_no_more_than_springback_is_left_to_the_other_bells() -> None:
    """0.45 % of strain lift a ring of 60 mm radius by 0.27 mm, and a tube by 0.05."""
    level = np.where(np.arange(len(STATIONS)) == 10, 0.2, 0.01)
    assert not np.isfinite(told(level, radius=FLARE)).any()
    assert np.flatnonzero(np.isfinite(told(level, radius=TUBE))).tolist() == [10]


def test_three_tenths_of_a_diameter_on_a_tube_are_told() -> None:
    level = np.where(np.arange(len(STATIONS)) == 10, 0.15, 0.01)
    assert np.flatnonzero(np.isfinite(told(level))).tolist() == [10]


def test_the_good_reading_of_a_ring_is_not_told_for_the_wrong_one() -> None:
    """1 mm on one of two diameters lifts the ring by half of what it lifts that reading, which stands off its mate."""
    station = np.repeat(STATIONS, 2)
    level = np.where(np.arange(len(station)) == 20, 0.5, 0.01)
    assert not np.isfinite(off_of(level, station, np.zeros(len(level)))).any()


def test_a_rim_that_gapes_at_its_edge_is_none() -> None:
    level = np.where(np.arange(len(STATIONS)) == len(STATIONS) - 1, 0.9, 0.01)
    assert not np.isfinite(told(level)).any()


def test_a_trace_is_no_ring() -> None:
    station = np.arange(100.0, 110.0, 0.5)
    level = np.where(np.arange(len(station)) == 10, 0.5, 0.01)
    assert not np.isfinite(told(level, station)).any()
