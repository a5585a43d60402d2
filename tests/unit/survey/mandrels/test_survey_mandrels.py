"""Originals set on mandrels, and mandrels ranked for an original: told apart as often as asked."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.geometry.meridian import offset
from springfit.survey.mandrels.ranking import ranked
from springfit.survey.mandrels.setting_on import LEAF_MM, Expected, set_on
from tests.helpers.originals.facet_lines import FAIR
from tests.helpers.originals.ranked_mandrels import TOLERANCE, flared_share, meridian_of, ranked_first

SEEDS, RANKED_SEEDS = 100, 3  # and a hundred by hand: `tests.benchmarks.survey_mandrels`
TOLD_APART, RANKED_FIRST = 0.90, 0.95
WRONG_MM = 0.08  # twice the tolerance
SEAT_SD, FEEL_SD, SHAPE_SD, FORECAST_SD = 0.3, 0.008, 0.015, 0.02  # [mm]


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
    gap = usual + known_to * draw.standard_normal() + own - wrong * flared_share(slope)
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


def test_what_is_to_be_cut_and_added_is_what_was_put_on_and_taken_off() -> None:
    line = meridian_of(FAIR["bessel"](np.random.default_rng(1)))
    bump = np.exp(-(((line.s - 0.8 * line.length) / 12.0) ** 2))
    big, small = ranked(
        line, {"big": offset(line, 0.2 * bump), "small": offset(line, -0.2 * bump)}, tolerance=0.03
    )
    assert (big.mandrel_id, small.mandrel_id) == ("big", "small")
    assert big.cut == pytest.approx(0.17, abs=0.03) and small.add == pytest.approx(0.17, abs=0.03)
    assert big.at_cut == pytest.approx(small.at_add, abs=4.0)
