"""The guard: whatever a forecast says, no cut passes what the mandrel's own bells support.

Shops are drawn: a true gap, two to five batches that scatter about it, and a forecast corrupted on purpose, namely
doubled, shifted, or with a hump added. What the bells support is worked out here from the drawn means alone.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import t as student

from springfit.decisions.bells.bell_profile import Profile
from springfit.decisions.bells.bell_support import COUNTS_AS, HEATS, support_of
from springfit.decisions.bells.own_bells import BatchMean, OwnBells
from springfit.decisions.verdict.cautious import cost_quantile
from springfit.decisions.verdict.decision_case import Case
from springfit.decisions.verdict.disagreement import disputed_rows
from springfit.decisions.verdict.questions import decide
from springfit.decisions.verdict.reasons import BellsDisagree
from tests.helpers.corrections.decisions_shop import TOLERANCE, case, evidence, forecaster, horn, ring

DRAWS = 200
HORN = horn()
OWN_SD, BATCH_SHARE, READ_TO = 0.004, 0.1, 305.0
ROUNDING = 1e-9
CORRUPTIONS = ("none", "doubled", "shifted", "humped")


def drawn(seed: int) -> tuple[Case, OwnBells, str]:
    """A case whose forecast is wrong, its bells, and in what it is wrong."""
    random = np.random.default_rng(seed)
    wrong = CORRUPTIONS[seed % len(CORRUPTIONS)]
    rim, swell, at = random.uniform(0.0, 0.4), random.uniform(-0.1, 0.1), random.uniform(170.0, 280.0)
    shift, hump, place = random.uniform(-0.15, 0.15), random.uniform(0.05, 0.4), random.uniform(150.0, 290.0)

    def true(s: np.ndarray) -> np.ndarray:
        return rim * np.clip((s - 150.0) / 180.0, 0.0, None) ** 1.5 + ring(s, at=at, length=120.0, depth=swell)

    def told(s: np.ndarray) -> np.ndarray:
        gap = true(s) * (2.0 if wrong == "doubled" else 1.0) + (shift if wrong == "shifted" else 0.0)
        return gap + ring(s, at=place, length=60.0, depth=hump) * (wrong == "humped")

    arcs = np.arange(20.0, READ_TO, random.choice([6.35, 12.7, 25.4]))
    sd = np.full(arcs.size, OWN_SD)
    means = tuple(
        BatchMean(f"B{i}", "2025-01-01", 0, 4, Profile(
            np.arange(arcs.size),
            true(arcs) * (1 + BATCH_SHARE * random.standard_normal()) + OWN_SD * random.standard_normal(arcs.size),
            sd, 0.5 * sd,
        ), (), ())
        for i in range(random.integers(2, 6))
    )  # fmt: skip
    bells = OwnBells(arcs, HORN.at(arcs).z, means)
    steel = random.uniform(-0.05, 0.15)
    made = case(
        forecaster(told, sd=random.choice([0.004, 0.02, 0.1])), evidence(batches=len(means)), steel=steel,
        allowance=random.choice([0.0, 0.3]),
    )  # fmt: skip
    support = support_of(bells, made.mandrel, HORN, revision=0)
    masks = replace(made.masks, disputed=disputed_rows(support, made.split))
    return replace(made, bells=support, masks=masks), bells, wrong


def supported(made: Case, bells: OwnBells, slide: float) -> tuple[np.ndarray, np.ndarray]:
    """At the stations themselves: arc, and what the means bear out by themselves once the bell is slid [mm]."""
    gaps = np.array([batch.profile.gap for batch in bells.batches])
    count, mean = len(gaps), gaps.mean(axis=0)
    usual, apart = (HEATS * mean) ** 2 + OWN_SD**2, ((gaps - mean) ** 2).sum(axis=0)
    spread = (COUNTS_AS * usual + apart) / (COUNTS_AS + count - 1)
    sd = np.sqrt(np.maximum(spread, OWN_SD**2) / count + (0.5 * OWN_SD) ** 2)
    low = mean - student.ppf(cost_quantile(made.cost_ratio), COUNTS_AS + count - 1) * sd
    steel = float(np.median(made.split.steel[made.open]))  # the steel stands off evenly
    return bells.arc, low + steel - slide * np.sin(made.mandrel.at(bells.arc).slope)


@pytest.mark.parametrize("first", range(0, DRAWS, 50))
def test_no_cut_passes_what_the_bells_support(first: int) -> None:
    cuts: dict[str, int] = dict.fromkeys(CORRUPTIONS, 0)
    for seed in range(first, first + 50):
        made, bells, wrong = drawn(seed)
        decision = decide(made)
        arc, low = supported(made, bells, decision.verdict.slide_mm)
        cut = np.interp(arc, made.mandrel.s, decision.cut_mm)
        assert np.all(cut <= np.maximum(low, 0.0) + 0.002), (seed, wrong)  # a chord of the interpolated steel
        assert np.all(decision.cut_mm[decision.cut_mm > 0] <= decision.sure_mm[decision.cut_mm > 0] + ROUNDING)
        read = made.bells is not None and made.bells.read
        assert not decision.cut_mm[made.masks.disputed | ~np.asarray(read)].any()
        if decision.verdict.verdict == "new_flare":
            steel = float(np.median(made.split.steel[made.open]))
            worst = min(float(np.min(b.profile.gap)) for b in bells.batches) + steel
            assert worst < -0.8 * TOLERANCE, (seed, wrong)
        cuts[wrong] += bool(decision.cut_mm.any())
    assert sum(cuts.values()) >= 5  # and there were cuts to hold back


def test_where_bells_and_forecast_disagree_nothing_is_cut_and_the_place_is_named() -> None:
    """A hump of 0.3 mm that three batches do not show."""
    arcs = np.arange(20.0, READ_TO, 12.7)
    sd = np.full(arcs.size, OWN_SD)
    means = tuple(
        BatchMean(f"B{i}", "2025-01-01", 0, 4, Profile(np.arange(arcs.size), 0.002 * i + 0 * arcs, sd, sd), (), ())
        for i in range(3)
    )
    made = case(forecaster(lambda s: ring(s, at=220.0, length=80.0, depth=0.3)), evidence(), allowance=0.0)
    assert decide(made).verdict.verdict == "recut"  # the forecast alone would cut it
    support = support_of(OwnBells(arcs, HORN.at(arcs).z, means), made.mandrel, HORN, revision=0)
    guarded = replace(made, bells=support, masks=replace(made.masks, disputed=disputed_rows(support, made.split)))
    decision = decide(guarded)
    assert decision.verdict.verdict == "wait" and not decision.cut_mm.any()
    reason = decision.verdict.reason
    assert isinstance(reason, BellsDisagree)
    assert reason.z_mm == pytest.approx(float(HORN.at(220.0).z), abs=8.0)
    assert reason.bells_mm == pytest.approx(0.002, abs=0.002) and reason.forecast_mm > 0.25
