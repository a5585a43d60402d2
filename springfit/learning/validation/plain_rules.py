"""What a forecast has to beat: plain rules and general regressors on the same features, as scikit-learn estimators.

Each is given what the model is given (features and place, never the readings of a left-out batch) and learns from the
measured mean gaps of the other batches, the seat already separated, which flatters it. The rows are those of
`training_frame`, a blank taken as usual (0). Only the last batch's mean is no estimator: it asks when a batch was spun.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Self

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.optimize import minimize
from sklearn.base import BaseEstimator, RegressorMixin, TransformerMixin
from sklearn.compose import ColumnTransformer
from sklearn.dummy import DummyRegressor
from sklearn.ensemble import GradientBoostingRegressor
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel, WhiteKernel
from sklearn.linear_model import LinearRegression, RidgeCV
from sklearn.pipeline import Pipeline, make_pipeline
from sklearn.preprocessing import StandardScaler
from sklearn.utils.validation import check_is_fitted, validate_data

from springfit.learning.features.station_features import flare_coordinate
from springfit.learning.training_frame import HOOP_GAP, PLACE, STATIONS, BatchCurve, thinned

__all__ = ["BASELINES", "BatchCurve", "FittedKernelRegressor", "PlainRules", "StationTerms", "plain_rule"]

Floats = NDArray[np.float64]

LAST_BATCH, ONE_SHARE = "last batch's mean", "one share for all"
BASELINES = (
    "no springback",
    LAST_BATCH,
    ONE_SHARE,
    "ridge",
    "Gaussian process",
    "gradient boosting",
)
KERNEL_ROWS = 100  # the likelihood of a kernel costs rows^3 each time it is asked, and 100 rows tell three numbers
MOST_CURVES = 100  # that a rule learns from: an exact process costs rows^3, and 1 600 rows are many for fifty columns
LENGTHS = (0.3, 3.0)  # [standard deviations] the search begins at: the likelihood has more than one top
# Variances of signal and noise where it begins, of values of unit variance: a fifth of their sd is noise; assumed
FIRST_SIGNAL, FIRST_NOISE = 1.0, 0.05
# Strengths on columns of one scale, half a decade apart, that cross-validation chooses among: from hardly any to that
# of a thousand rows; assumed
RIDGES = np.logspace(-2, 3, 11)
# Near scikit-learn's own, which are 100 trees of depth 3 on all rows; a part of them for each tree is common practice
TREES: Mapping[str, Any] = {"n_estimators": 120, "max_depth": 3, "subsample": 0.7}


class FittedKernelRegressor(RegressorMixin, BaseEstimator):
    """Exact Gaussian process whose kernel is fitted by marginal likelihood on at most `kernel_rows` rows, evenly among
    them, and then holds all rows. Inputs are to be of one scale: the kernel has one length."""

    def __init__(self, kernel_rows: int = KERNEL_ROWS) -> None:
        self.kernel_rows = kernel_rows

    def fit(self, X: Any, y: Any) -> Self:
        """Learn from X (n, features) and y (n,)."""
        rows, values = validate_data(self, X, y, dtype=float, y_numeric=True)
        some = thinned(len(values), self.kernel_rows)
        kernel = _likeliest_kernel(rows[some], values[some])
        self.regressor_ = GaussianProcessRegressor(kernel, normalize_y=True, optimizer=None).fit(rows, values)
        return self

    def predict(self, X: Any) -> Floats:
        """Mean (n,) at X (n, features)."""
        check_is_fitted(self)
        return np.asarray(self.regressor_.predict(validate_data(self, X, dtype=float, reset=False)), dtype=float)


def _likeliest_kernel(rows: Floats, values: Floats) -> Any:
    """The kernel of the largest marginal likelihood, sought from every length of LENGTHS.

    The search is ours because a regressor's own warns of every number that ends at a bound, such as no noise at all.
    """
    found = []
    for length in LENGTHS:
        begin = ConstantKernel(FIRST_SIGNAL) * RBF(length) + WhiteKernel(FIRST_NOISE)
        process = GaussianProcessRegressor(begin, normalize_y=True, optimizer=None).fit(rows, values)

        def cost(theta: Floats, process: GaussianProcessRegressor = process) -> tuple[float, Floats]:
            likelihood, gradient = process.log_marginal_likelihood(theta, eval_gradient=True)
            return -likelihood, -gradient

        best = minimize(cost, begin.theta, jac=True, method="L-BFGS-B", bounds=begin.bounds)
        found.append((float(best.fun), begin.clone_with_theta(best.x)))
    return min(found, key=lambda one: one[0])[1]


class StationTerms(TransformerMixin, BaseEstimator):
    """Rows of a `BatchCurve`, a blank (nan) taken as usual (0), with the square of the flare rate and the hoop gap
    times every number after it: what a batch does scales the gap."""

    def fit(self, X: Any, y: Any = None) -> Self:
        """Nothing is learned but the names and the count of the columns."""
        validate_data(self, X, dtype=float, ensure_all_finite="allow-nan")
        return self

    def transform(self, X: Any) -> Floats:
        """(n, features) to (n, terms)."""
        check_is_fitted(self)
        given = validate_data(self, X, dtype=float, ensure_all_finite="allow-nan", reset=False)
        rows = np.where(np.isnan(given), 0.0, given)
        place, rest = rows[:, : len(PLACE)], rows[:, len(PLACE) :]
        hoop = rows[:, len(PLACE) - 1 : len(PLACE)]
        return np.hstack((place, rows[:, :1] ** 2, rest, hoop * rest))

    def __sklearn_tags__(self) -> Any:
        tags = super().__sklearn_tags__()
        tags.input_tags.allow_nan = True
        return tags


def plain_rule(name: str) -> Pipeline | DummyRegressor:
    """The estimator of a name in BASELINES, not fitted yet; KeyError for another, and for the last batch's mean."""
    regressors = {
        "ridge": RidgeCV(alphas=RIDGES),
        "Gaussian process": FittedKernelRegressor(),
        "gradient boosting": GradientBoostingRegressor(**TREES, random_state=0),
    }
    if name == "no springback":
        return DummyRegressor(strategy="constant", constant=0.0)
    if name == ONE_SHARE:
        hoop = ColumnTransformer([("hoop", "passthrough", [HOOP_GAP])])
        return make_pipeline(hoop, LinearRegression(fit_intercept=False))
    return make_pipeline(StationTerms(), StandardScaler(), regressors[name])


@dataclass(frozen=True)
class PlainRules:
    """The plain rules of BASELINES learned from the curves `known`; `rules` are the estimators among them, fitted."""

    known: Mapping[str, BatchCurve]
    rules: Mapping[str, Pipeline | DummyRegressor]

    @classmethod
    def learned(cls, known: Mapping[str, BatchCurve]) -> PlainRules:
        """Learn from the curves `known`: of more than `MOST_CURVES`, from so many evenly among them."""
        if not known:
            return cls(known, {})
        curves = list(known.values())
        some = [curves[place] for place in thinned(len(curves), MOST_CURVES)]
        return cls(known, {name: _learned(name, some) for name in BASELINES if name != LAST_BATCH})

    def forecast(self, name: str, asked: BatchCurve) -> Floats:
        """Gap (n,) [mm] of `asked`, which is not among the known, by the rule of that name; KeyError for another."""
        if not self.known and name in BASELINES:
            return np.zeros_like(asked.arc)
        if name == LAST_BATCH:
            return _last(asked, self.known)
        return np.asarray(self.rules[name].predict(asked.rows), dtype=float)


def _learned(name: str, curves: Sequence[BatchCurve]) -> Pipeline | DummyRegressor:
    stations = None if name == ONE_SHARE else STATIONS  # one number costs nothing to find from all of them
    kept = [thinned(len(curve.arc), stations) for curve in curves]
    rows = [curve.rows.iloc[some] for curve, some in zip(curves, kept, strict=True)]
    gaps = np.concatenate([curve.gap[some] for curve, some in zip(curves, kept, strict=True)])
    return plain_rule(name).fit(pd.concat(rows, ignore_index=True), gaps)


def _last(asked: BatchCurve, known: Mapping[str, BatchCurve]) -> Floats:
    """The batch before on the same mandrel at the same arc; else the batch before it at the same flare rate."""
    earlier = [c for c in known.values() if c.spun_on <= asked.spun_on] or list(known.values())
    same = [c for c in earlier if c.mandrel_id == asked.mandrel_id]
    if same:
        last = max(same, key=lambda c: c.spun_on)
        return np.interp(asked.arc, last.arc, last.gap)
    last = max(earlier, key=lambda c: c.spun_on)
    return np.interp(flare_coordinate(asked.slope), flare_coordinate(last.slope), last.gap)
