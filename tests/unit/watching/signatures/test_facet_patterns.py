"""Facets that came off otherwise: washed out and lifted, found at their size; as ever, or deeper, they are neither."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from springfit.geometry.facets.finder import Facet
from springfit.watching.batches.bell_zones import ZONES, zones_of
from springfit.watching.batches.steel_line import SteelLine
from springfit.watching.signatures.facet_patterns import facet_patterns, worn_patterns
from springfit.watching.signatures.pattern import Shown, best_of

LENGTH, NOISE, SEAT = 400.0, 0.006, 0.3  # [mm]
DISH = Facet("dish", 300.0, 290.0, 0.08, 0.003, 36.0, 0.02, 4.0, 9.0)
ARC = np.arange(60.0, 396.0, 5.0)
SINE = np.sin(np.radians(1.0 + 70.0 * np.clip((ARC - 250.0) / 150.0, 0.0, 1.0) ** 2))
FIVE_BELLS = 5.0


def shown(seed: int, more: np.ndarray | float) -> tuple[Shown, ...]:
    """Patterns of the dish on the mean of five bells with noise, a seat nobody knows and `more` [mm]."""
    rng = np.random.default_rng(seed)
    noise = NOISE / np.sqrt(FIVE_BELLS)
    rest = more - rng.normal(0.0, SEAT) * SINE + rng.normal(0.0, noise, len(ARC))
    variance = noise**2 * np.eye(len(ARC)) + SEAT**2 * np.outer(SINE, SINE)
    found = tuple(facet_patterns(ARC, np.ones_like(ARC), [DISH], LENGTH))
    return best_of(found, rest, lambda right: np.linalg.solve(variance, right))


def washed(share: float) -> np.ndarray:
    """What losing a share of the dish does to the gap."""
    grid = np.arange(0.0, LENGTH + 0.5, 0.5)
    return np.interp(ARC, grid, DISH.deepened(grid, -share * DISH.depth))


@pytest.mark.parametrize("seed", range(8))
def test_a_dish_washed_out_by_half_is_named_with_what_it_lost(seed: int) -> None:
    names = {one.pattern.name: one for one in shown(seed, washed(0.5))}
    assert max(one.margin for one in names.values()) > 4.0
    lost = names["facet_washed_out"]
    assert lost.size == pytest.approx(0.5 * DISH.depth, abs=4.0 * lost.size_sd)


def test_a_facet_that_came_off_as_ever_is_not_named() -> None:
    assert sum(shown(seed, 0.0)[0].margin > 4.0 for seed in range(100, 200)) <= 2


def test_a_deeper_facet_is_neither_washed_out_nor_lifted() -> None:
    assert all(one.margin <= 0.0 for seed in range(8) for one in shown(seed, washed(-0.5)))


def test_readings_on_a_facet_are_of_its_zone() -> None:
    line = SteelLine(ARC, ARC, (DISH,))
    zones = zones_of(np.array([270.0, 300.0, 330.0]), np.radians([20.0, 20.0, 20.0]), 250.0, line.stretches)
    assert [ZONES[zone] for zone in zones] == ["flare", "facets", "flare"]


def test_a_facet_on_stations_too_sparse_for_its_depth_is_not_looked_for() -> None:
    sparse = Facet("dish", 300.0, 290.0, 0.08, 0.003, 36.0, 0.02, 12.0, 9.0)
    assert not tuple(facet_patterns(ARC, np.ones_like(ARC), [sparse], LENGTH))


@pytest.mark.parametrize("seed", range(8))
def test_steel_worn_at_a_facet_is_told_from_a_facet_washed_out_by_leaves(seed: int) -> None:
    """A crown that lost as much in the bells alone, or in the steel: every third reading by leaves tells which."""
    rng, felt = np.random.default_rng(seed), np.arange(len(ARC)) % 3 == 0
    crown = replace(DISH, kind="crown", kink=-DISH.kink)
    noise = NOISE / np.sqrt(FIVE_BELLS)
    patterns = (*facet_patterns(ARC, np.ones_like(ARC), [crown], LENGTH), *worn_patterns(ARC, 1.0 - felt, [crown]))
    (worn,) = (one for one in patterns if one.name == "worn_facet")
    rest = -0.05 * worn.columns[:, 0] + rng.normal(0.0, noise, len(ARC))
    first = best_of(patterns, rest, lambda right: right / noise**2)[0]
    assert first.pattern.name == "worn_facet"
    assert first.size == pytest.approx(-0.05, abs=4.0 * first.size_sd)
