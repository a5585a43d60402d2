"""A swelling that springback cannot make is found where it is and as large as it is; a sound bell shows none."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.learning.data.observations import BellReadings, Session
from springfit.learning.faults.fault_search import Explained, faults_of, stands_off, without

SEAT_SD, NOISE, REACH = 0.4, 0.01, 0.06  # [mm]
PLACE, SIZE, WIDTH = 260.0, 0.35, 12.0  # [mm] of the planted swelling
SIZE_TOLERANCE, PLACE_TOLERANCE = 0.05, 8.0  # [mm]


def bell_with(gap_of: np.ndarray, arc: np.ndarray, slope: np.ndarray) -> BellReadings:
    ones = np.ones_like(arc)
    return BellReadings(
        bell_id="a", batch_id="b", arc=arc, slope=slope, gap=gap_of, variance=NOISE**2 * ones, through_wall=ones,
        springs=ones, session=np.zeros(len(arc), dtype=np.intp), sessions=(Session("trimmed", "tail", "MIC", np.nan),),
        wall=0.5, readings=len(arc),
    )  # fmt: skip


# Swellings of height 1 against the distance from their middle over WIDTH; the search itself looks for Gaussian ones.
SHAPES = {
    "half a cosine": lambda x: np.where(np.abs(x) < 2, (1 + np.cos(np.pi * x / 2)) / 2, 0.0),
    "a ridge": lambda x: np.clip(1 - np.abs(x) / 2.2, 0, None),
    "flat-topped": lambda x: np.exp(-0.35 * x**4),
    "steep toward the tail": lambda x: np.exp(-0.5 * (x / np.where(x < 0, 0.6, 1.3)) ** 2),
}


def simulated(seed: int, size: float, shape: str = "half a cosine") -> tuple[BellReadings, Explained]:
    """A bell with noise, a seat nobody knows, and a swelling of `size` mm in its throat."""
    rng = np.random.default_rng(seed)
    arc = np.arange(80.0, 420.0, 8.0)
    slope = np.radians(1.0 + 75.0 * np.clip((arc - 280.0) / 140.0, 0.0, 1.0) ** 2)
    swelling = size * SHAPES[shape]((arc - PLACE) / WIDTH)
    gap = swelling - rng.normal(0.0, SEAT_SD) * np.sin(slope) + rng.normal(0.0, NOISE, len(arc))
    seat = -np.sin(slope)[:, None]
    envelope = np.full_like(arc, REACH)
    return bell_with(gap, arc, slope), Explained(np.zeros_like(arc), seat, np.array([SEAT_SD**2]), envelope)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("seed", range(5))
def test_a_planted_swelling_is_found_at_its_place_and_size(seed: int, shape: str) -> None:
    bell, explained = simulated(seed, SIZE, shape)
    (fault,) = faults_of(bell, explained)  # its flanks, where it is not of the shape tried, are no second one
    assert (fault.arc_from + fault.arc_to) / 2 == pytest.approx(PLACE, abs=PLACE_TOLERANCE)
    assert fault.size == pytest.approx(SIZE, abs=SIZE_TOLERANCE)
    kept = without(bell, (fault,))
    assert kept is not None
    assert not np.any((kept.arc > fault.arc_from) & (kept.arc < fault.arc_to))
    assert len(kept.arc) > len(bell.arc) / 2


def test_sound_bells_show_no_fault() -> None:
    found = [faults_of(*simulated(seed, 0.0)) for seed in range(100, 140)]
    assert found == [()] * 40


@pytest.mark.parametrize("seed", range(5))
def test_what_one_reading_alone_shows_is_that_reading_and_no_swelling(seed: int) -> None:
    """Stations two inches apart, as a caliper goes; one reading off by as much as a swelling would be."""
    bell, explained = simulated(seed, 0.0)
    rows = np.arange(0, len(bell.arc), 6)
    off = np.where(np.arange(len(rows)) == 4, SIZE, 0.0)
    sparse = bell_with(bell.gap[rows] + off, bell.arc[rows], bell.slope[rows])
    told = Explained(explained.expected[rows], explained.freedom[rows], explained.variance, explained.envelope[rows])
    (fault,) = faults_of(sparse, told)
    assert fault.alone and not fault.swelling and fault.size == pytest.approx(SIZE, abs=SIZE_TOLERANCE)
    kept = without(sparse, (fault,))
    assert kept is not None and sparse.arc[4] not in kept.arc and len(kept.arc) == len(rows) - 1


def test_what_elastic_release_can_do_is_no_fault() -> None:
    assert faults_of(*simulated(7, 0.8 * REACH)) == ()


def test_a_bell_of_another_steel_is_left_out_whole() -> None:
    bell, explained = simulated(3, 0.0)
    other = bell_with(bell.gap + 2.0, bell.arc, bell.slope)
    assert stands_off(other, explained.envelope)
    assert not stands_off(bell, explained.envelope)
    (fault, *_) = faults_of(other, explained)
    assert fault.whole and without(other, (fault,)) is None
