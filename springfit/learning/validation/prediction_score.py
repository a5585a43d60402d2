"""One left-out batch held against what its bells measured: errors by method, bands covered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from springfit.learning.forecasting.fitted_structure import place_row
from springfit.learning.forecasting.gap_forecast import GapForecast
from springfit.learning.validation.leaving_out import Measured
from springfit.learning.validation.plain_rules import BASELINES, PlainRules
from springfit.normal_errors import BAND_LEVEL

__all__ = ["OURS", "PredictionScore", "score_against"]

Floats = NDArray[np.float64]

OURS = "springfit"


@dataclass(frozen=True)
class PredictionScore:
    """Errors (n,) [mm] over the flare by method, with the sine (n,) of the slope there; share of the flare inside the
    90 % band of the batch's mean, and of its bells' inside that of one bell, with their widths [mm]; the mean log
    density of what was measured."""

    errors: Mapping[str, Floats]
    sine: Floats
    cover: float
    width_mm: float
    cover_bell: float
    width_bell_mm: float
    log_score: float

    def place_error(self, method: str) -> float:
        """The slide [mm, + toward the rim] that explains the error best."""
        return float(place_row(self.sine) @ self.errors[method])

    def shape_error(self, method: str) -> Floats:
        """The error (n,) [mm] with that slide taken out."""
        return self.errors[method] + self.place_error(method) * self.sine


def score_against(told: GapForecast, shown: Measured, rules: PlainRules) -> PredictionScore:
    """A forecast held against what the batch measured, beside what plain `rules` say that do not know the batch."""
    curve = shown.curve
    gap, sd, bell_sd = (np.interp(curve.arc, told.arc, v) for v in (told.gap, told.mean_sd, told.bell_sd))
    error, spread, bell_spread = gap - curve.gap, np.hypot(sd, curve.gap_sd), np.hypot(bell_sd, curve.gap_sd)
    half = float(student.ppf(0.5 + BAND_LEVEL / 2, told.freedom))
    plain = {name: rules.forecast(name, curve) - curve.gap for name in BASELINES}
    return PredictionScore(
        errors={OURS: error, **plain},
        sine=np.sin(curve.slope),
        cover=float(np.mean(np.abs(error) <= half * spread)),
        width_mm=float(np.mean(2 * half * sd)),
        cover_bell=float(np.mean(np.abs(gap - shown.bells) <= half * bell_spread)),
        width_bell_mm=float(np.mean(2 * half * bell_sd)),
        log_score=float(np.mean(student.logpdf(error / spread, told.freedom) - np.log(spread))),
    )
