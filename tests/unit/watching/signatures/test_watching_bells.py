"""One bell searched: a wrong reading is the tape measure's, a swelling is named once, a sound bell shows nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from springfit.watching.batches.predictive import BellRows
from springfit.watching.signatures.bell_faults import SearchedBell, alike, searched
from springfit.watching.signatures.pattern import Pattern, best_of
from tests.helpers.noisy_bell import rows

DRAW_END = 250.0  # [mm]
SLIP_MM, HUMP_MM = 0.25, 0.4
SIZE_TOLERANCE = 0.08  # [mm]: a swelling of half a cosine read as a normal curve


def found(one: BellRows) -> SearchedBell:
    return searched(one, np.zeros((len(one.rest), 1)), DRAW_END)


def swelling(arc: np.ndarray, place: float) -> np.ndarray:
    return HUMP_MM * 0.5 * (1.0 + np.cos(2.0 * np.pi * np.clip((arc - place) / 90.0, -0.5, 0.5)))


@pytest.mark.parametrize("seed", range(6))
def test_one_wrong_reading_is_named_and_nothing_is_called_a_fault(seed: int) -> None:
    at = 5 + 5 * seed
    more = np.zeros(43)
    more[at] = SLIP_MM
    one = rows(seed, more)
    result = found(one)
    assert [named.name for named in result.named] == ["reading_slip"]
    assert result.named[0].at[0] == one.bell.arc[at]
    assert result.named[0].of_measuring
    assert result.sound is not None and len(result.sound.arc) == 42


@pytest.mark.parametrize("seed", range(6))
def test_a_swollen_throat_is_named_once_and_is_no_slip(seed: int) -> None:
    one = rows(seed, swelling(np.arange(80.0, 420.0, 8.0), DRAW_END - 12.0))
    result = found(one)
    assert [named.name for named in result.named] == ["throat_hump"]
    assert result.named[0].size == pytest.approx(HUMP_MM, abs=SIZE_TOLERANCE)


@pytest.mark.parametrize("step", [16.0, 20.0, 24.0, 30.0])
def test_a_swollen_throat_read_at_few_stations_is_no_wrong_reading(step: float) -> None:
    arc = np.arange(80.0, 420.0, step)
    result = found(rows(2, swelling(arc, 230.0), step=step))
    assert "reading_slip" not in {named.name for named in result.named}


def test_two_wrong_readings_apart_are_both_named() -> None:
    more = np.zeros(43)
    more[[6, 30]] = SLIP_MM
    assert [named.name for named in found(rows(3, more)).named] == ["reading_slip"] * 2


def test_what_half_the_bells_show_at_one_place_is_no_wrong_reading() -> None:
    """A dent of the steel that one station of each bell meets: every bell alone would be called misread there."""
    more = np.zeros(43)
    more[20] = -SLIP_MM
    alone = [rows(seed, more if seed < 3 else 0.0) for seed in range(5)]
    bells = [replace(one, bell=replace(one.bell, bell_id=str(number))) for number, one in enumerate(alone)]
    place = alike([found(one) for one in bells])
    assert set(place) == {bells[0].bell.arc[20]}
    again = [searched(one, np.zeros((43, 1)), DRAW_END, place) for one in bells]
    assert [one.named for one in again] == [()] * 5
    assert all(one.sound is not None and len(one.sound.arc) == 43 for one in again)


def test_one_bell_misread_where_the_others_are_not_stays_misread() -> None:
    more = np.zeros(43)
    more[20] = SLIP_MM
    assert alike([found(rows(seed, more if seed == 0 else 0.0)) for seed in range(5)]).size == 0


def test_a_slip_beside_a_place_of_the_steel_is_named_still() -> None:
    more = np.zeros(43)
    more[[10, 30]] = -SLIP_MM, SLIP_MM
    one = rows(4, more)
    result = searched(one, np.zeros((43, 1)), DRAW_END, one.bell.arc[[10]])
    assert [named.at[0] for named in result.named] == [one.bell.arc[30]]
    assert result.sound is not None and one.bell.arc[10] in result.sound.arc


def test_sound_bells_show_nothing() -> None:
    assert [found(rows(seed)).named for seed in range(100, 150)] == [()] * 50


def test_a_pattern_wins_by_its_evidence_and_pays_for_the_places_tried() -> None:
    rng = np.random.default_rng(5)
    shape = np.linspace(0.0, 1.0, 40)[:, None]
    right = Pattern("right", shape, np.array([0.5]), "mm", (0.0, 1.0))
    other = Pattern("other", np.flip(shape, axis=0).copy(), np.array([0.5]), "mm", (0.0, 1.0))
    rest = 0.1 * shape[:, 0] + rng.normal(0.0, 0.02, 40)
    first, second = best_of([right, other], rest, lambda right: right / 0.02**2)
    assert first.pattern.name == "right" and first.margin > second.margin
    assert first.size == pytest.approx(0.1, abs=3.0 * first.size_sd)
    tried = best_of([right] * 10, rest, lambda right: right / 0.02**2)[0]
    assert first.margin - tried.margin == pytest.approx(np.log(10.0))


def test_what_is_usual_without_a_fault_is_none() -> None:
    """A seat of half a millimetre is one that hands leave, one of two millimetres is not."""
    shape = np.linspace(0.0, 1.0, 40)[:, None]
    seat = Pattern("off_seat", shape, np.array([1.5]), "mm", (0.0, 1.0), harmless=0.8)
    for size, harmless in ((0.5, True), (2.0, False)):
        (one,) = best_of([seat], size * shape[:, 0], lambda right: right / 0.02**2)
        assert one.margin > 6.0 and one.harmless is harmless


def test_evidence_is_the_difference_of_two_normal_densities() -> None:
    """Against the densities of the residuals with and without the pattern, worked by the determinant of all of V."""
    rng = np.random.default_rng(9)
    shape, rest, usual = rng.normal(size=(12, 1)), rng.normal(size=12), 0.7
    with_it = np.eye(12) + usual**2 * shape @ shape.T
    densities = [-0.5 * (np.linalg.slogdet(v)[1] + rest @ np.linalg.solve(v, rest)) for v in (with_it, np.eye(12))]
    shown = best_of([Pattern("one", shape, np.array([usual]), "mm", (0.0, 1.0))], rest, lambda right: right)
    assert shown[0].margin == pytest.approx(densities[0] - densities[1])
