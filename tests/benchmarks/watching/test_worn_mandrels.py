"""Steel that wears is told of in time, or not before the readings show it; steel that stays is left in peace."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from tests.benchmarks.watching.mandrels_that_wear import WEARS, life_of
from tests.benchmarks.watching.worn_shops import (
    ASKED_MM,
    GRACE_BELLS,
    WAYS,
    asked_of,
    book_of,
    judged,
    scored,
)

GENTLE, BATCHES = 913, 8  # a development seed, its facet where the bell is not steep
SHOPS = range(610, 622)
AT_MOST, IN_TIME = 0.05, 0.85


@pytest.mark.parametrize("wears", [True, pytest.param(False, marks=pytest.mark.benchmark)])
def test_a_worn_facet_is_told_in_time_and_an_unworn_one_is_not(wears: bool, tmp_path: Path) -> None:
    life = life_of(GENTLE, batches=BATCHES, only=(WEARS,))
    life = life if wears else replace(life, worn=replace(life.worn, per_bell=0.0))
    batches = judged(*book_of(life, GENTLE, tmp_path), life)[WAYS[0]]
    told = [one for one in asked_of(WEARS, batches, life) if one.told]
    if not wears:
        assert not told
        return
    assert life.worn.per_bell * (told[0].bells - GRACE_BELLS) <= ASKED_MM
    assert abs(told[0].told[0].arc - life.worn.arc) < life.worn.width / 2.0


@pytest.mark.benchmark
def test_over_whole_shops(tmp_path: Path) -> None:
    total = {way: Counter[str]() for way in WAYS}
    for seed in SHOPS:
        for way, marks in scored(seed, tmp_path).items():
            total[way] += marks
    for marks in total.values():
        shown = {state: marks[f"worn, readings could show it: {state}"] for state in ("told in time", "told late")}
        assert shown["told in time"] >= IN_TIME * sum(shown.values())
        assert marks["unworn steel: told falsely"] <= AT_MOST * marks["unworn steel: asked"]
        assert marks["sound batches not usual"] <= AT_MOST * marks["sound batches"]
