"""Originals set on mandrels, and mandrels ranked for an original: told apart as often as asked."""

from __future__ import annotations

import numpy as np
import pytest
from facet_lines import FAIR, Line

from springfit.geometry.meridian import Meridian, offset
from springfit.geometry.seating import slid
from springfit.survey.mandrels.ranking import ranked
from springfit.survey.mandrels.setting_on import LEAF_MM, Expected, set_on

SEEDS, RANKED_SEEDS = 100, 3  # and a hundred by hand: tests/benchmarks/survey_mandrels.py
TOLD_APART, RANKED_FIRST = 0.90, 0.95
WRONG_MM = 0.08
TOLERANCE = 0.04  # [mm] half of what is wrong
SEAT_SD, FEEL_SD, SHAPE_SD, FORECAST_SD = 0.3, 0.008, 0.015, 0.02  # [mm]


def _meridian(line: Line) -> Meridian:
    return Meridian(line.s, line.z, line.r, line.slope, line.curvature)


def _flare(slope: np.ndarray) -> np.ndarray:
    """The part of a bell that flares: none up to 5 degrees, all from 20 on, smoothly between."""
    x = np.clip((np.degrees(slope) - 5) / 15, 0, 1)
    return x * x * (3 - 2 * x)


def _leaves(seed: int, wrong: float) -> tuple[np.ndarray, np.ndarray, Expected]:
    """Slopes and leaves of an original on a mandrel whose flare is `wrong` too big, and what the shop's bells show."""
    draw = np.random.default_rng([seed, 6])
    line = FAIR["bessel"](draw)
    at = np.arange(0.35 * line.s[-1], line.s[-1] - 6.0, 9.0)
    slope = np.interp(at, line.s, line.slope)
    usual = draw.uniform(0.25, 0.45) * (at / line.s[-1]) ** 3
    own = (
        SHAPE_SD
        * np.cos(np.pi * np.arange(3)[:, None] * at / line.s[-1] + draw.uniform(0, 6, (3, 1))).sum(axis=0)
        / 2
    )
    known_to = FORECAST_SD * (at / line.s[-1]) ** 3
    gap = usual + known_to * draw.standard_normal() + own - wrong * _flare(slope)
    gap = gap - SEAT_SD * draw.standard_normal() * np.sin(slope) + FEEL_SD * draw.standard_normal(at.size)
    # Steel is not pressed into: where the bell would go through it, it stops further out.
    gap = gap + max(float(np.max(-gap / np.sin(slope))), 0.0) * np.sin(slope)
    leaf = np.maximum(np.floor(gap / LEAF_MM), 0.0) * LEAF_MM
    return slope, leaf, Expected(usual, known_to)


@pytest.mark.parametrize("wrong, answer", [(0.0, "right"), (WRONG_MM, "too big"), (-WRONG_MM, "too small")])
def test_a_mandrel_that_is_right_too_big_or_too_small_is_told(wrong: float, answer: str) -> None:
    told = []
    for seed in range(SEEDS):
        slope, leaf, expected = _leaves(seed, wrong)
        told.append(set_on(slope, leaf, np.full(leaf.size, FEEL_SD), expected, tolerance=TOLERANCE).answer)

    assert told.count(answer) >= TOLD_APART * SEEDS


def test_snug_everywhere_is_too_big() -> None:
    told = []
    for seed in range(40):
        slope, _, expected = _leaves(seed, 0.0)
        felt = np.full(slope.size, FEEL_SD)
        told.append(set_on(slope, np.zeros(slope.size), felt, expected, tolerance=TOLERANCE).answer)
    assert told.count("too big") >= TOLD_APART * len(told)


def test_the_right_one_of_six_is_ranked_first() -> None:
    assert ranked_first(RANKED_SEEDS) >= RANKED_FIRST * RANKED_SEEDS


def ranked_first(seeds: int) -> int:
    """How often the right one of six is ranked first."""
    first = 0
    for seed in range(seeds):
        draw = np.random.default_rng([seed, 66])
        line = _meridian(FAIR["bessel"](draw))
        target = slid(_wandering(line, draw, 0.01), draw.normal())
        bells = {
            "right": _wandering(line, draw, 0.01),
            "big": offset(line, 0.15 * _flare(line.slope)),
            "small": offset(line, -0.10 * _flare(line.slope)),
            "dished": offset(line, -0.12 * np.exp(-(((line.s - 0.8 * line.length) / 15.0) ** 2))),
            "cousin": _meridian(FAIR["bessel"](draw)),
            "other": _meridian(FAIR["exponential"](draw)),
        }
        first += ranked(target, bells, tolerance=TOLERANCE)[0].mandrel_id == "right"
    return first


def test_what_is_to_be_cut_and_added_is_what_was_put_on_and_taken_off() -> None:
    line = _meridian(FAIR["bessel"](np.random.default_rng(1)))
    bump = np.exp(-(((line.s - 0.8 * line.length) / 12.0) ** 2))
    big, small = ranked(
        line, {"big": offset(line, 0.2 * bump), "small": offset(line, -0.2 * bump)}, tolerance=0.03
    )
    assert (big.mandrel_id, small.mandrel_id) == ("big", "small")
    assert big.cut == pytest.approx(0.17, abs=0.03) and small.add == pytest.approx(0.17, abs=0.03)
    assert big.at_cut == pytest.approx(small.at_add, abs=4.0)


def _wandering(line: Meridian, draw: np.random.Generator, sd: float) -> Meridian:
    """The line with slow waves of that size."""
    u = line.s / line.length
    waves = sum(draw.standard_normal() * np.cos(np.pi * k * u) for k in (1, 2, 3))
    return offset(line, sd * np.asarray(waves) / np.sqrt(1.5))
