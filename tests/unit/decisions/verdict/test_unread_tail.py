"""A tail no bell was read at: not cut, not judged, and said; straight stretches are known from both their ends."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from springfit.decisions.bells.bell_profile import Profile
from springfit.decisions.bells.bell_support import APART_MM, STRAIGHT_RAD, support_of
from springfit.decisions.bells.own_bells import BatchMean, OwnBells
from springfit.decisions.need.inverse import mandrel_for
from springfit.decisions.need.masking import SHORTEST_RUN_OUT
from springfit.decisions.verdict.decision_case import Case
from springfit.decisions.verdict.questions import decide
from springfit.decisions.verdict.unread_tail import unread_tail
from tests.helpers.corrections.decisions_shop import case, evidence, forecaster, horn

HORN = horn()
FIRST_MM, PROUD_MM = 70.0, 0.18


def read_at(arcs: np.ndarray) -> OwnBells:
    """Three batches that hug the steel, read at `arcs`."""
    sd = np.full(arcs.size, 0.003)
    means = tuple(
        BatchMean(f"B{i}", "2025-01-01", 0, 6, Profile(np.arange(arcs.size), 0.001 * i + 0.0 * arcs, sd, sd), (), ())
        for i in range(3)
    )
    return OwnBells(arcs, HORN.at(arcs).z, means)


def guarded(steel: np.ndarray | float, arcs: np.ndarray) -> Case:
    """Steel that stands `steel` [mm] proud of its target, under bells that hug it."""
    predict = forecaster(lambda s: 0.0 * s, sd=0.003)
    made = case(predict, evidence(), steel=steel, allowance=0.0)
    support = support_of(read_at(arcs), made.mandrel, HORN, revision=0)
    masks = replace(made.masks, unread=unread_tail(support, made.split, made.mandrel))
    inverse = mandrel_for(HORN, made.mandrel, predict, open_rows=masks.open)
    return replace(made, bells=support, masks=masks, inverse=inverse)


def test_the_tail_is_neither_cut_nor_judged_and_the_next_cut_does_not_nibble_at_it() -> None:
    arcs = np.append(np.arange(FIRST_MM, 310.0, 12.7), 312.0)
    first = guarded(PROUD_MM, arcs)
    told = decide(first)
    s = first.mandrel.s
    assert told.verdict.verdict == "recut" and told.verdict.largest_cut_mm > 0.9 * PROUD_MM
    assert not told.cut_mm[s < FIRST_MM - 10.0].any() and first.masks.unread[s < FIRST_MM].all()
    ran_out = s > FIRST_MM + SHORTEST_RUN_OUT + 100.0 * PROUD_MM
    assert np.all(told.cut_mm[ran_out & first.open & (s < 200.0)] > 0.9 * PROUD_MM)
    left = np.interp(HORN.s, s, PROUD_MM - told.cut_mm)
    again = decide(guarded(left, arcs))
    assert again.verdict.verdict == "leave" and not again.cut_mm.any()


def test_a_flare_read_at_its_rim_alone_is_judged_all_along() -> None:
    few = guarded(PROUD_MM, np.arange(280.0, 310.0, 6.35))
    assert not few.masks.unread.any()


@pytest.mark.parametrize(("ends", "known"), [((20.0, 110.0), True), ((200.0, 290.0), False)])
def test_between_two_stations_far_apart_only_a_straight_stretch_is_known(
    ends: tuple[float, float], known: bool
) -> None:
    turns = float(np.ptp(HORN.at(np.array(ends)).slope))
    assert ends[1] - ends[0] > APART_MM and (turns < STRAIGHT_RAD) == known
    support = support_of(read_at(np.array(ends)), HORN, HORN, revision=0)
    between = (HORN.s > ends[0]) & (HORN.s < ends[1])
    assert bool(support.read[between].all()) == known
