"""Leave, process and wait, from bells and batches made up so that the right one is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from springfit.decisions.bells.bell_support import BellSupport
from springfit.decisions.evidence import no_evidence
from springfit.decisions.verdict.questions import decide
from tests.helpers.corrections.decisions_shop import case, evidence, forecaster
from tests.helpers.corrections.shaped_gaps import HALF_A_THOU, HORN, said, shape, throat_hump


def test_leave_when_there_is_only_noise() -> None:
    random = np.random.default_rng(7)
    for _ in range(20):
        level, wave = 0.004 * random.standard_normal(2)
        noise = lambda s, a=level, b=wave: a + b * np.sin(s / 25.0)  # noqa: E731
        verdict = decide(case(forecaster(noise, sd=0.01), evidence())).verdict
        assert verdict.verdict == "leave"
        assert verdict.largest_cut_mm == 0.0


def test_process_when_four_of_ten_bells_show_a_hump_and_nothing_moves_elsewhere() -> None:
    sound = decide(case(forecaster(shape), evidence()))
    humped = case(forecaster(shape), evidence(faults=(throat_hump(),)))
    decision = decide(humped)
    throat = (HORN.s >= 130.0) & (HORN.s <= 170.0)
    assert decision.verdict.verdict == "process"
    assert "4 of 10 bells" in said(decision.verdict)
    assert not decision.cut_mm[throat].any()
    elsewhere = ~throat
    assert np.max(np.abs(decision.cut_mm - sound.cut_mm)[elsewhere]) <= HALF_A_THOU
    assert np.max(np.abs(humped.inverse.removal_mm)[throat & (HORN.s > 145) & (HORN.s < 155)]) < 0.001


def test_a_hump_inside_the_cut_runs_out_and_never_cuts_more_anywhere() -> None:
    fault = replace(throat_hump(), s_from_mm=225.0, s_to_mm=245.0)
    sound, humped = (decide(case(forecaster(shape), evidence(faults=faults))) for faults in ((), (fault,)))
    assert np.all(humped.cut_mm <= sound.cut_mm + 1e-9)
    under = (HORN.s >= 225.0) & (HORN.s <= 245.0)
    assert not humped.cut_mm[under].any()


def test_one_odd_bell_of_ten_is_not_the_process() -> None:
    verdict = decide(case(forecaster(shape), evidence(faults=(throat_hump(faulty=1),)))).verdict
    assert verdict.verdict == "recut"


def test_process_when_the_batches_scatter_more_than_they_are_off() -> None:
    known = evidence(batches=8, scatter=0.4)
    decision = decide(case(forecaster(shape, sd=0.4), known))
    assert decision.verdict.verdict == "process"
    assert not decision.cut_mm.any()
    assert "8 batches scatter" in said(decision.verdict)


@pytest.mark.parametrize(("batches", "apart", "process"), [(8, 0.4, True), (8, 0.02, False), (3, 0.4, False)])
def test_bells_spun_alike_say_whether_batches_scatter(batches: int, apart: float, process: bool) -> None:
    """A forecast that cannot explain a shop's batches puts that down to their scatter: bells come before it."""
    n = HORN.s.size
    sd, none, read = np.full(n, 0.05), np.zeros(n), np.full(n, True)
    bells = BellSupport(HORN.s, shape(HORN.s), sd, none, np.full(n, 5.0), read, batches, 8, apart)
    made = replace(case(forecaster(shape, sd=0.4), evidence(batches=8, scatter=0.4)), bells=bells)
    assert (decide(made).verdict.verdict == "process") is process


@pytest.mark.parametrize(("batches", "verdict"), [(2, "wait"), (3, "recut")])
def test_three_batches_alike_know_a_need_that_a_forecast_hardly_does(batches: int, verdict: str) -> None:
    n = HORN.s.size
    sd, none, read = np.full(n, 0.01), np.zeros(n), np.full(n, True)
    bells = BellSupport(HORN.s, shape(HORN.s), sd, none, np.full(n, 5.0), read, batches, batches)
    made = replace(case(forecaster(shape, sd=0.2), evidence(batches=batches)), bells=bells)
    decision = decide(made)
    assert decision.verdict.verdict == verdict
    assert np.all(decision.cut_mm <= np.maximum(bells.lower(made.quantile), 0.0) + 1e-9)


def test_batches_read_alike_never_show_what_all_their_readings_share() -> None:
    """A hand that pushes every bell back alike hides a cut, however many batches are spun; a line does not."""
    n = HORN.s.size
    sd, none, read = np.full(n, 0.3), np.zeros(n), np.full(n, True)
    alone = BellSupport(HORN.s, shape(HORN.s), sd, none, np.full(n, 7.0), read, 4, 4)
    known = case(forecaster(shape, sd=0.02), evidence(batches=4, scatter=0.01))
    by_each, by_habit = (decide(replace(known, bells=one)).verdict for one in (alone, replace(alone, shared_sd=sd)))
    assert by_each.verdict == by_habit.verdict == "wait"
    assert "more measured batch" in said(by_each) and "scribed" not in said(by_each)
    assert "line scribed on each bell" in said(by_habit)
    assert np.allclose(replace(alone, shared_sd=sd).after(12).sd, sd)
    assert np.allclose(alone.after(12).sd, sd / 2)


def test_wait_with_a_number_for_two_scattered_batches_and_that_number_settles_it() -> None:
    known = evidence(batches=2, scatter=0.12)
    verdict = decide(case(forecaster(shape, sd=0.3, freedom=4.0), known)).verdict
    assert verdict.verdict == "wait"
    assert verdict.more_batches is not None and verdict.more_batches >= 1
    assert f"{verdict.more_batches} more" in said(verdict)
    # with the band those batches would leave, the same question has another answer
    later = evidence(batches=2 + verdict.more_batches, scatter=0.12)
    left = 0.3 / np.sqrt(1.0 + verdict.more_batches)
    assert decide(case(forecaster(shape, sd=left, freedom=4.0), later)).verdict.verdict == "recut"


def test_wait_when_nothing_was_ever_measured_on_this_steel() -> None:
    verdict = decide(case(forecaster(shape), no_evidence())).verdict
    assert (verdict.verdict, verdict.more_batches) == ("wait", 2)
