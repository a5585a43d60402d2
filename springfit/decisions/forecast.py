"""What a forecast says: the gap of a bell on its mandrel, banded for a batch's mean and for one new bell."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.geometry.seating import best_slide
from springfit.learning.model import SpringModel
from springfit.records.conditions import Conditions

__all__ = ["Forecast", "forecast"]


@dataclass(frozen=True)
class Forecast:
    """The bell a mandrel gives under stated conditions; every array stands on the stations of `meridian`.

    name: of the conditions. meridian: the mandrel from tail to trimmed rim, stations at most 2 mm apart.
    gap_mm: normal distance bell minus mandrel, per side, tail ends matched; gap_mean_sd_mm, gap_bell_sd_mm:
    one standard deviation of a new batch's mean and of one new bell, with degrees_of_freedom of Student's t.
    shape_mm: what is left of the gap after the best axial slide slide_mm. axial_mm: axial displacement, tail
    registered. trust: a word a station (inside, stretched, physics_only). level_notes: cautions in sentences.
    """

    name: str
    meridian: Meridian
    gap_mm: FloatArray
    gap_mean_sd_mm: FloatArray
    gap_bell_sd_mm: FloatArray
    degrees_of_freedom: float
    shape_mm: FloatArray
    slide_mm: float
    axial_mm: FloatArray
    trust: tuple[str, ...]
    level_notes: tuple[str, ...]

    def mean_band(self, level: float = 0.9) -> tuple[FloatArray, FloatArray]:
        """Lower and upper edge [mm] of the band that holds a new batch's mean with probability `level`."""
        return self._band(self.gap_mean_sd_mm, level)

    def bell_band(self, level: float = 0.9) -> tuple[FloatArray, FloatArray]:
        """Lower and upper edge [mm] of the band that holds one new bell with probability `level`."""
        return self._band(self.gap_bell_sd_mm, level)

    def mean_quantile(self, probability: float) -> FloatArray:
        """The gap [mm] that a new batch's mean stays below with `probability`, station by station."""
        return self.gap_mm + float(student.ppf(probability, self.degrees_of_freedom)) * self.gap_mean_sd_mm

    @property
    def bell_point(self) -> tuple[FloatArray, FloatArray]:
        """Axial place and radius (z, r) [mm] of the bell's inside surface at each station."""
        slope = self.meridian.slope
        return self.meridian.z - self.gap_mm * np.sin(slope), self.meridian.r + self.gap_mm * np.cos(slope)

    def _band(self, sd_mm: FloatArray, level: float) -> tuple[FloatArray, FloatArray]:
        if not 0.0 < level < 1.0:
            raise ValueError(f"the level of a band is {level}, expected a share between 0 and 1, such as 0.9")
        half = float(student.ppf(0.5 + 0.5 * level, self.degrees_of_freedom)) * sd_mm
        return self.gap_mm - half, self.gap_mm + half


def forecast(
    model: SpringModel,
    mandrel: Meridian,
    conditions: Conditions,
    *,
    stage: str = "trimmed",
) -> Forecast:
    """The bell that `mandrel` gives under `conditions` at `stage` ("trimmed" or "spun"), by `model`.

    Raises UnknownAlloyError for an alloy that the table does not have.
    """
    told = model.gap(mandrel, conditions, stage=stage)
    points = mandrel.at(told.arc)
    slide = best_slide(points.slope, told.gap)
    return Forecast(
        name=conditions.name,
        meridian=Meridian(points.s, points.z, points.r, points.slope, points.curvature),
        gap_mm=told.gap,
        gap_mean_sd_mm=told.mean_sd,
        gap_bell_sd_mm=told.bell_sd,
        degrees_of_freedom=told.freedom,
        shape_mm=told.gap + slide * np.sin(points.slope),
        slide_mm=slide,
        axial_mm=told.axial,
        trust=told.trust,
        level_notes=told.notes,
    )
