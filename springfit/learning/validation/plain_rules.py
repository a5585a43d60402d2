"""What a forecast has to beat: plain rules and general regressors on the same features.

Each is given what the model is given (features and place, never the readings of a left-out batch) and learns from the
measured mean gaps of the other batches, the seat already separated, which flatters it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.learning.features.station_features import flare_coordinate

__all__ = ["BASELINES", "BatchCurve", "baseline_forecast"]

Floats = NDArray[np.float64]

BASELINES = (
    "no springback",
    "last batch's mean",
    "one share for all",
    "ridge",
    "Gaussian process",
    "gradient boosting",
)
STATIONS = 16  # of a batch's flare that the regressors see: neighbouring stations tell nothing new


@dataclass(frozen=True)
class BatchCurve:
    """The measured mean gap of a batch over its flare: `arc`, `slope`, `radius`, `gap`, `gap_sd` (n,) [mm, rad]; `unit`
    (n,) the gap of one hoop share the same everywhere; `features` one row of numbers, nan where blank."""

    batch_id: str
    mandrel_id: str
    spun_on: str
    arc: Floats
    slope: Floats
    radius: Floats
    gap: Floats
    gap_sd: Floats
    unit: Floats
    features: Floats


def baseline_forecast(name: str, asked: BatchCurve, known: Mapping[str, BatchCurve]) -> Floats:
    """Gap (n,) [mm] that a baseline forecasts for `asked` from the curves `known` (the asked one not among them).

    Raises KeyError for a name that is not in BASELINES.
    """
    if name == "no springback" or not known:
        return np.zeros_like(asked.arc)
    if name == "last batch's mean":
        return _last(asked, known)
    if name == "one share for all":
        units = np.concatenate([curve.unit for curve in known.values()])
        gaps = np.concatenate([curve.gap for curve in known.values()])
        return asked.unit * float(units @ gaps) / float(units @ units)
    return _regressed(name, asked, known)


def _last(asked: BatchCurve, known: Mapping[str, BatchCurve]) -> Floats:
    """The batch before on the same mandrel at the same arc; else the batch before it at the same flare rate."""
    earlier = [c for c in known.values() if c.spun_on <= asked.spun_on] or list(known.values())
    same = [c for c in earlier if c.mandrel_id == asked.mandrel_id]
    if same:
        last = max(same, key=lambda c: c.spun_on)
        return np.interp(asked.arc, last.arc, last.gap)
    last = max(earlier, key=lambda c: c.spun_on)
    return np.interp(flare_coordinate(asked.slope), flare_coordinate(last.slope), last.gap)


def _regressed(name: str, asked: BatchCurve, known: Mapping[str, BatchCurve]) -> Floats:
    from sklearn.ensemble import GradientBoostingRegressor
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import RBF, ConstantKernel, WhiteKernel
    from sklearn.linear_model import RidgeCV
    from sklearn.pipeline import make_pipeline
    from sklearn.preprocessing import StandardScaler

    few = {b: np.linspace(0, len(c.arc) - 1, STATIONS).astype(int) for b, c in known.items()}
    rows = np.vstack([_rows(curve)[few[b]] for b, curve in known.items()])
    gaps = np.concatenate([curve.gap[few[b]] for b, curve in known.items()])
    kernel = ConstantKernel(1.0) * RBF(3.0) + WhiteKernel(0.05)
    regressor = {
        "ridge": RidgeCV(alphas=np.logspace(-2, 3, 11)),
        "Gaussian process": GaussianProcessRegressor(kernel, normalize_y=True, optimizer=None),
        "gradient boosting": GradientBoostingRegressor(
            n_estimators=120, max_depth=3, subsample=0.7, random_state=0
        ),
    }[name]
    fitted = make_pipeline(StandardScaler(), regressor).fit(rows, gaps)
    return np.asarray(fitted.predict(_rows(asked)), dtype=float)


def _rows(curve: BatchCurve) -> Floats:
    """Features of each station: flare rate, radius, the unit gap, and the batch's numbers with blanks as usual (0)."""
    place = np.column_stack((flare_coordinate(curve.slope), np.log(curve.radius), curve.unit))
    batch = np.broadcast_to(np.nan_to_num(curve.features), (len(curve.arc), len(curve.features)))
    return np.hstack((place, place[:, :1] ** 2, batch, curve.unit[:, None] * batch))
