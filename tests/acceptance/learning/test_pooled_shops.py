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
import pandas as pd
import pytest

from springfit import read_book, validate
from springfit.learning.validation.prediction_score import OURS
from tests.helpers.repository import DEMO

SAMPLES = ("sample-shop", "sample-shop-inch", "sample-shop-laid")
MOST_WORSE = 1.05  # times the best plain rule, on any one shop
LEAST_BETTER = 1.3  # times any one rule, on all of them together
LEFT_OUT = ["batches", "mandrels"]


@cache
def rms(shop: Path) -> pd.Series:
    """Of one shop's left-out batches and mandrels the rms error [mm] of every method; only what a user has is read."""
    with tempfile.TemporaryDirectory() as folder:
        for sheet in shop.glob("*.csv"):
            shutil.copy(sheet, folder)
        scores = validate(*read_book(Path(folder)))
    return scores.set_index(["left_out", "method"])["rms_mm"]


def of_all_shops(shared: Path, left_out: str) -> pd.DataFrame:
    """A row a shop, a column a method."""
    shops = (DEMO, *(shared / name for name in SAMPLES))
    return pd.DataFrame([rms(shop)[left_out] for shop in shops])


@pytest.mark.benchmark
@pytest.mark.parametrize("left_out", LEFT_OUT)
def test_no_shop_is_forecast_worse_than_by_its_best_plain_rule(left_out: str, shared: Path) -> None:
    told = of_all_shops(shared, left_out)
    assert (told[OURS] <= MOST_WORSE * told.drop(columns=OURS).min(axis=1)).all()


@pytest.mark.benchmark
@pytest.mark.parametrize("left_out", LEFT_OUT)
def test_all_shops_together_are_forecast_a_third_better_than_by_any_one_rule(left_out: str, shared: Path) -> None:
    pooled = np.sqrt((of_all_shops(shared, left_out) ** 2).mean())
    print(left_out, pooled.round(4).to_dict())
    assert (LEAST_BETTER * pooled[OURS] <= pooled.drop(OURS)).all()
