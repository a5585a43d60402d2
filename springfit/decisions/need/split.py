"""The error of a bell split into steel, springback and what neither explains, each with its own certainty."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

from springfit.decisions.evidence import MandrelEvidence
from springfit.decisions.forecast import Forecast
from springfit.decisions.need.inverse import bell_error
from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.geometry.seating import nearest_point
from springfit.learning.data.mandrel_steel import STEEL_SD_MM
from springfit.normal_errors import BAND_LEVEL

__all__ = ["ErrorSplit", "lasting_sd", "split_error"]


LEAST_SHARE = 0.3  # of the band is taken to last, however many batches have been seen: model fault; assumed


@dataclass(frozen=True)
class ErrorSplit:
    """error = steel + springback + unexplained, along the normal, per side, + when larger; (n,) each [mm].

    steel: present mandrel minus target. springback: what the forecast bell adds. unexplained: what sound
    bells on this mandrel showed beyond the forecast. The sums close exactly. NaN where there is no bell or
    no target. beyond: what of the unexplained part the forecast does not hold already, so that the full need
    does not answer it; beyond_sd its sd. *_sd: one standard deviation of each part; springback_sd is of the
    next batch's mean, lasting_sd of the mean over many batches, which is what steel can correct.
    degrees_of_freedom: of Student's t for all bands.
    """

    error: FloatArray
    steel: FloatArray
    springback: FloatArray
    unexplained: FloatArray
    beyond: FloatArray
    steel_sd: FloatArray
    springback_sd: FloatArray
    unexplained_sd: FloatArray
    beyond_sd: FloatArray
    lasting_sd: FloatArray
    degrees_of_freedom: float

    @property
    def error_sd(self) -> FloatArray:
        """One standard deviation of the next batch's mean error [mm]."""
        return np.sqrt(self.steel_sd**2 + self.springback_sd**2 + self.beyond_sd**2)

    @property
    def need_sd(self) -> FloatArray:
        """One standard deviation of the lasting error [mm], which a cut has to be cautious about."""
        return np.sqrt(self.steel_sd**2 + self.lasting_sd**2 + self.beyond_sd**2)

    def band(self, level: float = BAND_LEVEL) -> tuple[FloatArray, FloatArray]:
        """Lower and upper edge [mm] of the band that holds the next batch's mean error with `level`."""
        half = float(student.ppf(0.5 + 0.5 * level, self.degrees_of_freedom)) * self.error_sd
        return self.error - half, self.error + half


def split_error(
    mandrel: Meridian, target: Meridian, forecast: Forecast, evidence: MandrelEvidence
) -> ErrorSplit:
    """Split the error of the bell that `mandrel` gives, on the mandrel's stations."""
    predicted = bell_error(mandrel, target, forecast)
    _, steel = nearest_point(target, mandrel.z, mandrel.r)
    unexplained, unexplained_sd = evidence.unexplained_at(mandrel.s)
    held, added = (
        (unexplained, 0.0 * unexplained) if evidence.in_forecast else (0.0 * unexplained, unexplained)
    )
    mean_sd = np.interp(mandrel.s, forecast.meridian.s, forecast.mean_sd)
    lasting = np.interp(mandrel.s, forecast.meridian.s, lasting_sd(forecast, evidence))
    return ErrorSplit(
        error=predicted + added,
        steel=np.where(np.isfinite(predicted), steel, np.nan),
        springback=predicted - steel - held,
        unexplained=np.where(np.isfinite(predicted), unexplained, np.nan),
        beyond=added,
        steel_sd=np.full(mandrel.s.size, STEEL_SD_MM),
        springback_sd=mean_sd,
        unexplained_sd=unexplained_sd,
        beyond_sd=0.0 * unexplained_sd if evidence.in_forecast else unexplained_sd,
        lasting_sd=lasting,
        degrees_of_freedom=forecast.freedom,
    )


def lasting_sd(forecast: Forecast, evidence: MandrelEvidence) -> FloatArray:
    """Standard deviation [mm] of the gap's mean over many batches, on the forecast's stations.

    The forecast's band is of one new batch. What that batch adds of its own, scatter b, goes away in the
    mean of many, so the lasting variance is mean_sd^2 - b^2; with n batches seen it cannot be below b^2 / n,
    nor below a fixed share of the band. With the scatter unknown the whole band is taken to last.
    """
    whole = forecast.mean_sd
    if not np.isfinite(evidence.scatter_mm) or evidence.batches < 2:
        return whole
    largest = float(np.max(np.abs(forecast.gap)))
    profile = np.abs(forecast.gap) / largest if largest > 0 else np.zeros_like(whole)
    own = np.minimum(evidence.scatter_mm * profile, whole)
    least = np.maximum(own / np.sqrt(evidence.batches), LEAST_SHARE * whole)
    return np.minimum(whole, np.maximum(np.sqrt(whole**2 - own**2), least))
