"""All shops at hand left out batch by batch and mandrel by mandrel: the forecast beside every plain rule.

A plain rule may suit one shop: none may suit a shop much better than the forecast does, and none all of them nearly as
well. The shops are the demo's and the sample shops; some minutes of two cores where none is laid yet.
"""

from __future__ import annotations

import shutil
import tempfile
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from springfit.learning.experience import experience_of
from springfit.learning.fitting import fit_model
from springfit.learning.validation.scores import Score, Validation, validate
from springfit.records.reading import read_book
from tests.helpers.repository import DEMO

SAMPLES = ("sample-shop", "sample-shop-inch", "sample-shop-laid")
MOST_WORSE = 1.05  # times the best plain rule, on any one shop
LEAST_BETTER = 1.3  # times any one rule, on all of them together
LEFT_OUT = ["batches", "mandrels"]


@cache
def validated(shop: Path) -> Validation:
    """Scores of one shop; only what a user has of it is read."""
    with tempfile.TemporaryDirectory() as folder:
        for sheet in shop.glob("*.csv"):
            shutil.copy(sheet, folder)
        fit = fit_model(experience_of(*read_book(Path(folder))))
    assert fit is not None
    return validate(fit)


def scores(shared: Path, left_out: str) -> list[tuple[Score, ...]]:
    """Of each shop the scores of every method, ours first."""
    return [getattr(validated(shop), left_out) for shop in (DEMO, *(shared / name for name in SAMPLES))]


@pytest.mark.benchmark
@pytest.mark.parametrize("left_out", LEFT_OUT)
def test_no_shop_is_forecast_worse_than_by_its_best_plain_rule(left_out: str, shared: Path) -> None:
    for ours, *plain in scores(shared, left_out):
        assert ours.rms_mm <= MOST_WORSE * min(rule.rms_mm for rule in plain)


@pytest.mark.benchmark
@pytest.mark.parametrize("left_out", LEFT_OUT)
def test_all_shops_together_are_forecast_a_third_better_than_by_any_one_rule(left_out: str, shared: Path) -> None:
    pooled = {
        methods[0].method: float(np.sqrt(np.mean([one.rms_mm**2 for one in methods])))
        for methods in zip(*scores(shared, left_out), strict=True)
    }
    ours, *plain = pooled
    print(left_out, {method: round(rms, 4) for method, rms in pooled.items()})
    assert all(LEAST_BETTER * pooled[ours] <= pooled[rule] for rule in plain)
