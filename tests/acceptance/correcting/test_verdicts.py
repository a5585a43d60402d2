"""All six verdicts, from forecasts made up so that the right one is known."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from springfit.decisions.bells.bell_support import BellSupport
from springfit.decisions.need.axial import sparing_slide
from springfit.decisions.verdict.questions import decide
from springfit.reporting.wording.length_wording import Units
from tests.helpers.corrections.decisions_shop import (
    ALLOWANCE,
    TOLERANCE,
    case,
    evidence,
    forecaster,
    growing,
    ring,
)
from tests.helpers.corrections.shaped_gaps import HORN, SEEDS, WORTH_CUTTING, said, shape, slid_gap


def test_recut_where_the_flare_is_surely_too_large_and_no_slide_explains_it() -> None:
    decision = decide(case(forecaster(shape), evidence()))
    assert decision.verdict.verdict == "recut"
    assert decision.verdict.largest_cut_mm >= WORTH_CUTTING
    assert decision.verdict.chance_out_after < decision.verdict.chance_out_before
    assert f"{decision.verdict.largest_cut_mm:.3f} mm" in said(decision.verdict)


def test_slide_for_bells_that_only_slid_and_sprang_evenly_in_95_of_100_shops() -> None:
    random = np.random.default_rng(20260101)
    slides = 0
    for _ in range(SEEDS):
        slide, rim_gap = random.uniform(-0.4, -0.1), random.uniform(0.0, 0.03)
        known = evidence(unexplained_mm=0.003 * random.standard_normal(34))
        gap = lambda s, a=slide, g=rim_gap: slid_gap(a)(s) + growing(g)(s)  # noqa: E731
        decision = decide(case(forecaster(gap, sd=0.02), known))
        assert decision.cut_mm.max() <= WORTH_CUTTING
        slides += decision.verdict.verdict == "slide"
    assert slides >= 95


def test_slide_says_how_far_and_which_way() -> None:
    verdict = decide(case(forecaster(slid_gap(-0.3)), evidence())).verdict
    assert verdict.verdict == "slide"
    # the made-up forecast follows the slope, so the bell is a little more than slid
    assert verdict.slide_mm == pytest.approx(0.3, abs=0.05)
    assert "toward the rim" in said(verdict)


@pytest.mark.parametrize(
    ("rim_gap", "sd", "verdict"),
    [
        (0.0, 0.02, "slide"),
        (0.0, 0.05, "slide"),  # a cut would leave it no nearer: what is unsure stays unsure
        (0.12, 0.02, "slide"),
        (0.12, 0.05, "recut"),  # a slide may well leave it out, and part of that is sure
        (0.12, 0.15, "wait"),  # likelier out than not, and a batch or two would make part of it sure
        (0.03, 0.15, "slide"),  # nor would any batches: it costs nothing
    ],
)
def test_a_slide_that_may_leave_the_bell_out_gives_way_to_what_is_sure(rim_gap: float, sd: float, verdict: str) -> None:
    gap = lambda s: slid_gap(-0.3)(s) + growing(rim_gap)(s)  # noqa: E731
    told = decide(case(forecaster(gap, sd=sd), evidence(scatter=sd / 2))).verdict
    assert told.verdict == verdict
    assert (told.more_batches is not None) is (verdict == "wait")


def test_no_slide_beyond_what_the_target_allows() -> None:
    verdict = decide(case(forecaster(slid_gap(-0.3)), evidence(), allowance=0.1)).verdict
    assert verdict.verdict == "recut"
    assert verdict.slide_mm <= 0.1


@pytest.mark.parametrize(("unsure", "spares_all"), [(0.04, True), (0.2, False)])
def test_a_slide_spares_no_steel_that_caution_leaves_out_of_tolerance(unsure: float, spares_all: bool) -> None:
    """A flare too large all over: of bells hardly sure of their seat a slide and caution together would cut nothing of
    the flare, however far out it is; of bells that are sure the slide spares what it can."""
    alone = case(forecaster(lambda s: 0.0 * s, sd=0.02), evidence(), steel=0.2)
    mandrel, rows, n = alone.mandrel, alone.known, alone.mandrel.s.size
    sd = 0.01 + unsure * np.sin(mandrel.slope)
    bells = BellSupport(
        mandrel.s, np.nan_to_num(alone.split.error), sd, np.zeros(n), np.full(n, 6.0), np.full(n, True), 3, 3
    )
    decision = decide(replace(alone, bells=bells))
    most = sparing_slide(alone.split.error[rows], mandrel.slope[rows], mandrel.s[rows], allowance=ALLOWANCE)
    assert decision.verdict.verdict == "recut"
    assert (decision.verdict.slide_mm == pytest.approx(most)) is spares_all
    assert decision.verdict.slide_mm <= most + 1e-9
    assert np.all(decision.cut_mm <= np.maximum(bells.lower(alone.quantile), 0.0) + 1e-9)


def test_new_flare_for_a_ring_cut_too_small_that_no_allowed_move_removes() -> None:
    steel = -ring(HORN.s, at=290.0, length=38.0, depth=0.08)
    decision = decide(case(forecaster(growing(0.0)), evidence(), steel=steel, allowance=0.0))
    assert decision.verdict.verdict == "new_flare"
    assert "further" in said(decision.verdict) or "would have to move" in said(decision.verdict)
    assert not decision.cut_mm.any()


def test_a_stated_axial_move_for_the_same_ring_where_the_target_allows_it() -> None:
    steel = -ring(HORN.s, at=290.0, length=38.0, depth=0.08)
    made_up = case(forecaster(growing(0.0)), evidence(), steel=steel)
    decision = decide(made_up)
    assert decision.verdict.verdict == "recut"
    assert decision.verdict.slide_mm < 0.0
    assert f"turned {-decision.verdict.slide_mm:.3f} mm further toward the rim" in said(decision.verdict)
    # after the cut the bell, slid back as stated, is within tolerance everywhere
    after = made_up.split.error - decision.cut_mm - decision.verdict.slide_mm * np.sin(HORN.slope)
    assert np.nanmax(np.abs(after[made_up.open])) <= TOLERANCE


def test_new_flare_when_the_ring_lies_on_the_cylinder() -> None:
    steel = -ring(HORN.s, at=60.0, length=38.0, depth=0.12)
    verdict = decide(case(forecaster(growing(0.0)), evidence(), steel=steel)).verdict
    assert verdict.verdict == "new_flare"


def test_lacking_steel_on_an_even_chance_is_not_a_new_flare() -> None:
    steel = -ring(HORN.s, at=290.0, length=38.0, depth=0.07)
    predict = forecaster(growing(0.0), sd=0.06)
    verdict = decide(case(predict, evidence(scatter=0.06), steel=steel, allowance=0.0)).verdict
    assert verdict.verdict == "wait"
    assert verdict.more_batches is not None


@pytest.mark.parametrize("sd", [0.004, 0.02, 0.05])
def test_equal_costs_cut_more_than_ten_to_one(sd: float) -> None:
    even, cautious = (
        decide(case(forecaster(shape, sd=sd), evidence(scatter=sd / 3), ratio=ratio)) for ratio in (1.0, 10.0)
    )
    assert np.all(even.cut_mm >= cautious.cut_mm - 1e-9)
    assert even.cut_mm.max() > cautious.cut_mm.max()


def test_wider_bands_never_cut_more() -> None:
    cuts = [
        decide(case(forecaster(shape, sd=sd), evidence())).cut_mm for sd in (0.005, 0.01, 0.03, 0.08, 0.3)
    ]
    for narrow, wide in pairwise(cuts):
        assert np.all(wide <= narrow + 1e-9)


def test_a_cut_never_adds_steel_nor_passes_its_limit_or_the_full_need() -> None:
    made_up = case(forecaster(shape, sd=0.01), evidence(unexplained_mm=np.full(34, -0.02)))
    decision = decide(made_up)
    assert decision.cut_mm.min() >= 0.0
    assert np.all(decision.cut_mm <= decision.most_mm + 1e-12)
    assert np.all(decision.most_mm <= np.maximum(made_up.inverse.removal_mm, decision.cut_mm) + 1e-12)


def test_what_recent_bells_lacked_lessens_the_cut() -> None:
    plain, smaller, larger = (
        decide(case(forecaster(shape), evidence(unexplained_mm=np.full(34, rest)), allowance=0.0))
        for rest in (0.0, -0.03, 0.03)
    )
    assert smaller.verdict.largest_cut_mm == pytest.approx(plain.verdict.largest_cut_mm - 0.03, abs=0.001)
    # and what they had too much of is never cut past the full need
    assert larger.verdict.largest_cut_mm <= plain.verdict.largest_cut_mm + 0.02


@pytest.mark.parametrize("units, unit", [("mm", " mm"), ("in", " thou")])
def test_the_reason_speaks_the_shops_unit(units: Units, unit: str) -> None:
    assert unit in said(decide(case(forecaster(shape), evidence())).verdict, units)


def test_a_ceiling_for_blanks_lowers_the_cut_and_a_low_one_waits_for_the_sheet() -> None:
    made_up = case(forecaster(shape), evidence())
    plain = decide(made_up)
    halved, barred = (
        decide(replace(made_up, ceiling_mm=share * plain.cut_mm, unwritten=("wall_mm", "temper")))
        for share in (0.5, 0.01)
    )
    assert halved.verdict.verdict == "recut"
    assert halved.cut_mm == pytest.approx(0.5 * plain.cut_mm)
    assert barred.verdict.verdict == "wait" and not barred.cut_mm.any()
    assert "wall, temper not filled in" in said(barred.verdict)
