"""The plain rules as scikit-learn knows estimators, and the training frame that anyone's regressor can be put on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from sklearn.base import BaseEstimator
from sklearn.linear_model import LinearRegression
from sklearn.model_selection import LeaveOneGroupOut, cross_val_predict
from sklearn.pipeline import Pipeline
from sklearn.utils.estimator_checks import parametrize_with_checks

import springfit
from springfit.demo.keeping.book_sheets import write_book
from springfit.demo.many_shops import make_shop
from springfit.learning.features.batch_features import BATCH_FEATURES
from springfit.learning.features.station_features import STATION_FEATURES
from springfit.learning.training_frame import STATIONS, BatchCurve, TrainingFrame, thinned
from springfit.learning.validation.plain_rules import (
    BASELINES,
    FittedKernelRegressor,
    PlainRules,
    StationTerms,
    plain_rule,
)

GENERAL = ("ridge", "Gaussian process", "gradient boosting")
BATCHES, MANDRELS = 4, 2


# What a Pipeline of scikit-learn itself does not meet, whatever is in it; its own tests except the first two as well.
OF_PIPELINES = {
    "check_dont_overwrite_parameters": "a Pipeline changes its steps when it is fitted",
    "check_estimators_overwrite_params": "a Pipeline changes its steps when it is fitted",
    "check_estimators_nan_inf": "a Pipeline does not tell that its first step takes nan",
}

OF_BOOSTING = {"check_fit2d_1sample": "seven tenths of one row are none, which boosting calls a division by zero"}


def allowed(estimator: BaseEstimator) -> dict[str, str]:
    """Checks that may fail, each with its reason: none for what is written here."""
    if not isinstance(estimator, Pipeline):
        return {}
    return OF_PIPELINES | (OF_BOOSTING if "gradientboostingregressor" in estimator.named_steps else {})


@parametrize_with_checks(
    [StationTerms(), FittedKernelRegressor(), *(plain_rule(name) for name in GENERAL)],
    expected_failed_checks=allowed,
)
def test_scikit_learns_own_checks(estimator: BaseEstimator, check) -> None:  # type: ignore[no-untyped-def]
    check(estimator)


@pytest.fixture(scope="module")
def frame(tmp_path_factory: pytest.TempPathFactory) -> TrainingFrame:
    folder = tmp_path_factory.mktemp("shop") / "book"
    write_book(make_shop(11, batches=BATCHES, mandrels=MANDRELS, bells=3).tables, folder, units="mm")
    return springfit.training_frame(*springfit.read_book(folder))


def test_a_row_is_a_station_of_a_batch(frame: TrainingFrame) -> None:
    X, y, groups = frame
    assert len(X) == len(y) == len(groups) == BATCHES * STATIONS
    assert groups["batch_id"].nunique() == BATCHES and groups["mandrel_id"].nunique() == MANDRELS
    assert groups.groupby("batch_id")["mandrel_id"].nunique().eq(1).all()
    assert {one.name for one in (*STATION_FEATURES, *BATCH_FEATURES)} <= set(X.columns)
    assert X["flare"].between(0.0, 11.0).all() and y.abs().max() < 2.0
    wall = X.groupby(groups["batch_id"])["wall"].nunique(dropna=False)
    assert (wall == 1).all()  # a batch's number is the same at every station of it
    assert np.isfinite(X[[one.name for one in STATION_FEATURES]]).all(axis=None)


@pytest.mark.parametrize("name", [*GENERAL, "one share for all", "no springback"])
def test_every_rule_can_be_put_beside_any_other_with_whole_mandrels_left_out(frame: TrainingFrame, name: str) -> None:
    X, y, groups = frame
    told = cross_val_predict(plain_rule(name), X, y, groups=groups["mandrel_id"], cv=LeaveOneGroupOut())
    assert np.isfinite(told).all()
    share = LinearRegression(fit_intercept=False)
    hoop = cross_val_predict(share, X[["hoop_gap_mm"]], y, groups=groups["mandrel_id"], cv=LeaveOneGroupOut())
    if name == "one share for all":
        assert told == pytest.approx(hoop)
    if name == "no springback":
        assert not told.any()


def curve(scale: float, mandrel: str = "M", day: str = "2025-01-01") -> BatchCurve:
    """A batch whose gap is `scale` times that of one hoop share."""
    arc = np.linspace(200.0, 300.0, 41)
    slope = np.linspace(0.1, 1.2, 41)
    unit, features = 0.1 * slope**2, np.zeros(len(BATCH_FEATURES))
    return BatchCurve("B", mandrel, day, arc, slope, 10 + arc / 6, scale * unit, 0 * arc, unit, features)


def test_one_share_and_the_last_batch_are_what_they_are_called() -> None:
    known = {"A": curve(1.0, day="2025-01-01"), "B": curve(3.0, day="2025-02-01")}
    asked = curve(9.0, day="2025-03-01")
    rules = PlainRules.learned(known)
    assert rules.forecast("one share for all", asked) == pytest.approx(2.0 * asked.unit)
    assert rules.forecast("last batch's mean", asked) == pytest.approx(3.0 * asked.unit)
    before = replace(asked, spun_on="2025-01-15")
    assert rules.forecast("last batch's mean", before) == pytest.approx(1.0 * asked.unit)
    for name in BASELINES:
        assert rules.forecast(name, asked).shape == asked.arc.shape
        assert not PlainRules.learned({}).forecast(name, asked).any()
    with pytest.raises(KeyError):
        plain_rule("no such rule")


def test_the_kernel_is_fitted_and_not_what_it_began_with() -> None:
    """A wave of length 0.3: the length that was set before, 3, would smooth it away; the fitted one follows it."""
    x = np.linspace(0.0, 3.0, 120)[:, None]
    y = np.sin(2 * np.pi * x[:, 0] / 0.6)
    fitted = FittedKernelRegressor().fit(x[::2], y[::2])
    assert np.abs(fitted.predict(x) - y)[5:-5].max() < 0.05
    few = FittedKernelRegressor(kernel_rows=30).fit(x[::2], y[::2])
    assert few.regressor_.X_train_.shape == (60, 1)  # the kernel is fitted on some rows, the process holds all


def test_thinning_keeps_both_ends() -> None:
    assert thinned(5, None).tolist() == [0, 1, 2, 3, 4]
    assert thinned(100, 3).tolist() == [0, 49, 99]
    assert thinned(2, 16).tolist() == [0, 1]
