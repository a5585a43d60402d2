"""The summary of a forecast, as the prediction page prints it, and the table of predicted bells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.stats import t as student

from springfit.normal_errors import BAND_LEVEL
from springfit.reporting.pages.printed_tables import Sheet, in_small_unit, printed
from springfit.reporting.wording.cannot_tell import coverage_words, untrusted
from springfit.reporting.wording.column_labels import lengths_note
from springfit.reporting.wording.length_wording import Units, amount, both_ways, small_unit
from springfit.reporting.wording.verdict_wording import unbroken

if TYPE_CHECKING:
    from springfit.decisions.forecast import Forecast

__all__ = ["ComparisonSummary", "ForecastSummary", "predicted_bell", "summarise_forecast"]

_PRINTED_STATIONS = 15  # rows that fit on a page; the file has all


@dataclass(frozen=True)
class ForecastSummary:
    """What is said of one forecast: the large number, what it means, bands, limits, stations."""

    name: str
    word: str
    action: str
    band: str
    limits: tuple[str, ...]
    table: Sheet


@dataclass(frozen=True)
class ComparisonSummary:
    """What is said of several conditions side by side: a line each against the first, how they are to be read, rows."""

    title: str
    lines: tuple[str, ...]
    note: str
    table: Sheet


def predicted_bell(forecasts: Sequence[Forecast]) -> pd.DataFrame:
    """One row a forecast and station, tail to rim: gap, both 90 % bands, shape, inside surface, trust."""
    return pd.concat([forecast.to_frame() for forecast in forecasts], ignore_index=True)


def summarise_forecast(forecast: Forecast, *, units: Units) -> ForecastSummary:
    """The printed summary of one forecast."""
    gap, mean, bell = forecast.gap, forecast.mean_band(BAND_LEVEL), forecast.bell_band(BAND_LEVEL)
    rim = float(gap[-1])
    size_word = "larger" if rim >= 0.0 else "smaller"
    return ForecastSummary(
        name=forecast.name,
        word=f"RIM {amount(rim, units, signed=True)}",
        action=unbroken(
            f"At the rim the bell comes {size_word} than the mandrel "
            f"by {both_ways(abs(rim), units)} per side."
        ),
        band=unbroken(
            f"There, nine batch means in ten: {_range(mean, units)}; nine single bells in ten: {_range(bell, units)}. "
            f"{_slid(forecast, units)} {_known_to(forecast, units)}"
        ),
        limits=(
            *untrusted(forecast.meridian.z, np.array(forecast.trust), units),
            *map(coverage_words, forecast.notes),
        ),
        table=_station_table(forecast, units),
    )


def _slid(forecast: Forecast, units: Units) -> str:
    """How far the bell seems to have slid along the axis, and what shape is left when it is slid back."""
    left = both_ways(float(np.max(np.abs(forecast.shape))), units)
    slide, way = amount(abs(forecast.slide), units), "rim" if forecast.slide > 0.0 else "tail"
    if slide == amount(0.0, units):
        return f"It has not slid along the axis; its shape is off by at most {left}."
    return f"A slide of {slide} toward the {way} explains part of it; the shape that is left is off by at most {left}."


def _known_to(forecast: Forecast, units: Units) -> str:
    """How well the place of the flare along the axis is known, and its shape: a seat hides one, not the other."""
    half = float(student.ppf(0.5 + BAND_LEVEL / 2, forecast.freedom))
    place, shape = half * forecast.place_sd, half * float(np.max(forecast.shape_sd))
    return (
        f"Nine batches in ten: the flare's place along the axis is known to {both_ways(place, units)} either way, "
        f"its shape to {both_ways(shape, units)} at the worst place."
    )


def _station_table(forecast: Forecast, units: Units) -> Sheet:
    """A few even stations of the predicted bell."""
    rows = np.unique(np.linspace(0, forecast.gap.size - 1, _PRINTED_STATIONS).round().astype(int))
    frame = forecast.to_frame().iloc[rows]
    shown = frame[
        ["z_mm", "mandrel_diameter_mm", "gap_mm", "gap_mean_lo_mm", "gap_mean_hi_mm", "bell_diameter_mm"]
    ]
    shown = in_small_unit(shown, ["gap_mm", "gap_mean_lo_mm", "gap_mean_hi_mm"], units)
    note = f"{lengths_note(units)} Gaps in {small_unit(units)} per side. Every station is in predicted_bell.csv."
    return printed(shown, "Stations", note=note, units=units, empty="")


def _range(band: Sequence[np.ndarray], units: Units) -> str:
    """The band at the rim in words."""
    low, high = (amount(float(edge[-1]), units, signed=True) for edge in band)
    return f"{low} to {high}"
