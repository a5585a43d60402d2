"""What a forecast says: the gap of a bell on its mandrel, banded for a batch's mean and for one new bell."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.stats import t as student

from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.geometry.seating import best_slide
from springfit.learning.coverage import PHYSICS_ONLY
from springfit.learning.forecasting.gap_forecast import GapForecast
from springfit.learning.model import AskedBell, SpringModel
from springfit.normal_errors import BAND_LEVEL
from springfit.records.conditions import Conditions

__all__ = ["Forecast", "forecast", "forecast_of"]


@dataclass(frozen=True)
class Forecast(GapForecast):
    """The gap that a model forecasts, on the mandrel it was asked for; arrays stand on the stations of `meridian`.

    name: of the conditions. meridian: the mandrel from tail to trimmed rim, stations at most 2 mm apart. gap is the
    normal distance bell minus mandrel, per side [mm], tail ends matched; mean_sd and bell_sd are scales [mm] of
    Student's t with `freedom`, of a new batch's mean and of one new bell.
    """

    name: str
    meridian: Meridian

    @property
    def slide(self) -> float:
        """The slide [mm] of the whole bell that explains most of the gap, + toward the rim."""
        return best_slide(self.meridian.slope, self.gap)

    @property
    def shape(self) -> FloatArray:
        """What is left of the gap [mm] after the best slide: gap + slide sin(slope)."""
        return self.gap + self.slide * np.sin(self.meridian.slope)

    def mean_band(self, level: float = BAND_LEVEL) -> tuple[FloatArray, FloatArray]:
        """Lower and upper edge [mm] of the band that holds a new batch's mean with probability `level`."""
        return self._band(self.mean_sd, level)

    def bell_band(self, level: float = BAND_LEVEL) -> tuple[FloatArray, FloatArray]:
        """Lower and upper edge [mm] of the band that holds one new bell with probability `level`."""
        return self._band(self.bell_sd, level)

    @property
    def bell_point(self) -> tuple[FloatArray, FloatArray]:
        """Axial place and radius (z, r) [mm] of the bell's inside surface at each station."""
        slope = self.meridian.slope
        return self.meridian.z - self.gap * np.sin(slope), self.meridian.r + self.gap * np.cos(slope)

    def trust_at(self, s: FloatArray) -> NDArray[np.str_]:
        """The word for each place `s` (n,) [mm of arc], physics only where there is no bell."""
        nearest = np.clip(np.searchsorted(self.meridian.s, s), 0, self.meridian.s.size - 1)
        return np.where(s <= self.meridian.length + 1e-9, np.array(self.trust)[nearest], PHYSICS_ONLY)

    def to_frame(self) -> pd.DataFrame:
        """A row a station, tail to rim [mm]: gap, its 90 % bands, shape, the bell's inside surface, trust."""
        mean_lo, mean_hi = self.mean_band(BAND_LEVEL)
        bell_lo, bell_hi = self.bell_band(BAND_LEVEL)
        bell_z, bell_r = self.bell_point
        return pd.DataFrame(
            {
                "name": self.name,
                "s_mm": self.meridian.s,
                "z_mm": self.meridian.z,
                "mandrel_diameter_mm": 2.0 * self.meridian.r,
                "gap_mm": self.gap,
                "gap_mean_lo_mm": mean_lo,
                "gap_mean_hi_mm": mean_hi,
                "gap_bell_lo_mm": bell_lo,
                "gap_bell_hi_mm": bell_hi,
                "shape_mm": self.shape,
                "bell_z_mm": bell_z,
                "bell_diameter_mm": 2.0 * bell_r,
                "trust": list(self.trust),
            }
        )

    def _band(self, sd: FloatArray, level: float) -> tuple[FloatArray, FloatArray]:
        if not 0.0 < level < 1.0:
            raise ValueError(f"the level of a band is {level}, expected a share between 0 and 1, such as 0.9")
        half = float(student.ppf(0.5 + 0.5 * level, self.freedom)) * sd
        return self.gap - half, self.gap + half


def forecast(
    model: SpringModel,
    mandrel: Meridian,
    conditions: Conditions,
    *,
    stage: str = "trimmed",
    laid_on: Meridian | None = None,
) -> Forecast:
    """The bell that `mandrel` gives under `conditions` at `stage` ("trimmed" or "spun"), by `model`; `laid_on` as
    `SpringModel.asked` takes it.

    Raises UnknownAlloyError for an alloy that the table does not have.
    """
    return forecast_of(model, model.asked(mandrel, conditions, stage=stage, laid_on=laid_on))


def forecast_of(model: SpringModel, bell: AskedBell) -> Forecast:
    """The forecast of a bell that `model` was asked about."""
    gap = model.stated(bell.mandrel, bell.conditions, bell.words)
    points = bell.mandrel.at(gap.arc)
    stations = Meridian(points.s, points.z, points.r, points.slope, points.curvature)
    return Forecast(**vars(gap), name=bell.conditions.name, meridian=stations)
