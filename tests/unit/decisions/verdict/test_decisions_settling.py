"""What a reading, a batch or a blank filled in is worth, against the newsvendor's loss."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from springfit.decisions.bells.bell_support import BellSupport
from springfit.decisions.verdict.settling import reading_worth, what_would_settle
from tests.helpers.corrections.decisions_shop import case, evidence, forecaster, horn, ring

HORN = horn()
PRIOR = NOISE = 0.10


@pytest.mark.parametrize("readings, value", [(1, 0.052711), (4, 0.099484)])
def test_the_worth_of_readings_as_computed_elsewhere(readings: int, value: float) -> None:
    """Prior and noise 0.10, ratio 10: 0.052711 for one reading, 0.099484 for four, 0.179968 for knowing all
    [closed form of the newsvendor's loss, computed apart from this program]."""
    after = 1.0 / np.sqrt(1.0 / PRIOR**2 + readings / NOISE**2)
    assert reading_worth(np.array([PRIOR]), np.array([after]), 10.0)[0] == pytest.approx(value, abs=1e-6)
    assert reading_worth(np.array([PRIOR]), np.zeros(1), 10.0)[0] == pytest.approx(0.179968, abs=1e-6)


def test_it_is_what_counting_costs_gives() -> None:
    """Mean cost of the cheapest cut over a drawn normal need, before and after knowing it better."""
    needs = norm.ppf((np.arange(200_000) + 0.5) / 200_000)

    def loss(sd: float) -> float:
        cut = norm.ppf(1.0 / 11.0) * sd
        return float(np.mean(np.maximum(sd * needs - cut, 0.0) + 10.0 * np.maximum(cut - sd * needs, 0.0)))

    told = reading_worth(np.array([0.08]), np.array([0.05]), 10.0)[0]
    assert told == pytest.approx(loss(0.08) - loss(0.05), rel=1e-3)


def test_where_no_bell_was_read_a_reading_is_named_and_beats_a_batch() -> None:
    """A wide band over the outer flare, bells read up to it and well known before it."""
    made = case(forecaster(lambda s: ring(s, at=250.0, length=120.0, depth=0.05), sd=0.2, freedom=5.0), evidence())
    n = HORN.s.size
    read = HORN.s < 240.0
    bells = BellSupport(HORN.s, np.zeros(n), np.full(n, 0.005), np.zeros(n), np.full(n, 5.0), read, 3, 3)
    told = what_would_settle(replace(made, bells=bells), {})
    assert told[0].kind == "station" and told[0].z_mm > float(HORN.z[read][-1])
    assert told[0].worth > next(one.worth for one in told if one.batches == 1)
    assert [one.worth for one in told] == sorted((one.worth for one in told), reverse=True)


def test_a_blank_that_may_be_anything_comes_first_and_one_that_does_nothing_not_at_all() -> None:
    made = case(forecaster(lambda s: 0.0 * s, sd=0.05), evidence())
    told = what_would_settle(made, {"temper": 0.95 * made.split.need_sd, "lubricant": 0.0 * HORN.s})
    assert (told[0].kind, told[0].column) == ("blank", "temper")
    assert "lubricant" not in [one.column for one in told]
