"""Makers who do what the report says, on shops with a hidden truth: few flares spoiled, most within tolerance."""

from __future__ import annotations

import pytest

from tests.helpers.programs.closed_loop import Outcome, Score, outcomes

SPOILED, WITHIN, WAITING, ROUNDS = 0.05, 0.90, 0.10, 2.3
FEW, MANY = 2, 100  # each shop is laid anew for every draft of its steel


def held(ended: list[Outcome]) -> Score:
    """The score, once it is seen to be of shops where there was something to cut."""
    score = Score.of(ended)
    print("\n".join(one.line for one in ended), score.line, sep="\n")
    assert sum(one.cuts > 0 for one in ended) > len(ended) / 2
    return score


@pytest.mark.benchmark
@pytest.mark.parametrize("shops", [FEW, MANY])
def test_following_the_report_spoils_few_flares_and_ends_within_tolerance(shops: int) -> None:
    score = held(list(outcomes(shops)))
    assert score.spoiled <= SPOILED
    assert score.within >= WITHIN
    assert score.waiting <= WAITING
    assert score.rounds <= ROUNDS
