"""A made-up correction with every column the reports read: an exponential horn whose flare sprang open."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd

from springfit.decisions.cut_tables.cutting import cut_table
from springfit.decisions.cut_tables.facet_table import FACET_COLUMNS
from springfit.decisions.forecast import Forecast
from springfit.geometry.meridian import Meridian

TOLERANCE = 0.05  # mm per side


def example_meridian() -> Meridian:
    """A flare of 12 mm at the tail and 120 mm at the rim, r = 6 + z/84 + 49 exp((z - 420) / 28)."""
    z = np.linspace(0.0, 420.0, 20001)
    flare = 49.0 * np.exp((z - 420.0) / 28.0)
    rise = 1.0 / 84.0 + flare / 28.0
    steps = np.hypot(np.diff(z), np.diff(6.0 + z / 84.0 + flare))
    s = np.concatenate(([0.0], np.cumsum(steps)))
    slope, curvature = np.arctan(rise), flare / 28.0**2 / (1.0 + rise**2) ** 1.5
    return Meridian(s, z, 6.0 + z / 84.0 + flare, slope, curvature).resampled(2.0)


def example_forecast(*, name: str = "as last time", scale: float = 1.0) -> Forecast:
    """A gap that grows into the flare, with bands."""
    meridian = example_meridian()
    share = meridian.s / meridian.length
    gap = scale * 0.22 * share**6
    return Forecast(
        name=name,
        meridian=meridian,
        gap_mm=gap,
        gap_mean_sd_mm=0.008 + 0.03 * share**3,
        gap_bell_sd_mm=0.015 + 0.04 * share**3,
        degrees_of_freedom=6.0,
        shape_mm=gap - 0.8 * gap,
        slide_mm=-0.24,
        axial_mm=np.zeros_like(gap),
        trust=tuple(np.where(share > 0.97, "stretched", "inside").tolist()),
        level_notes=("One sheet lot only.",),
    )


def example_stations(*, cut: bool = True) -> pd.DataFrame:
    """Stations of a correction in mm: steel a little over near the throat, springback over the flare."""
    meridian = example_meridian()
    s, share = meridian.s, meridian.s / meridian.length
    present = 2.0 * meridian.r
    steel = 0.03 * np.exp(-(((share - 0.75) / 0.06) ** 2))
    springback, unexplained = 0.22 * share**6, 0.012 * np.sin(9.0 * share)
    error = steel + springback + unexplained
    half = 1.94 * (0.008 + 0.03 * share**3)
    masked = (s < 3.0) | (s > meridian.length - 6.0)
    need = np.where(masked, 0.0, np.clip(error, 0.0, None)) * np.cos(meridian.slope) * (share > 0.5)
    cautious = 0.6 * need if cut else 0.0 * need
    return pd.DataFrame(
        {
            "z_mm": meridian.z,
            "diameter_mm": present - 2.0 * need,
            "cut_now_diameter_mm": present - 2.0 * cautious,
            "do_not_pass_diameter_mm": present - 2.0 * need,
            "present_diameter_mm": present,
            "target_diameter_mm": present - 2.0 * steel,
            "error_mm": error,
            "error_steel_mm": steel,
            "error_springback_mm": springback,
            "error_unexplained_mm": unexplained,
            "error_lo_mm": error - half,
            "error_hi_mm": error + half,
            "masked": masked,
            "s_mm": s,
            "slope_rad": meridian.slope,
            "trust": np.where(share > 0.97, "stretched", "inside"),
        }
    )


def example_correction(*, verdict: str = "recut", mandrel_id: str = "WREN", **changes: Any) -> Any:
    """A correction with the stated verdict; `changes` replace whole fields."""
    cut = verdict == "recut"
    stations = example_stations(cut=cut)
    taken = (stations.present_diameter_mm - stations.cut_now_diameter_mm) / 2.0
    judged = stations.error_mm.where(~stations.masked, 0.0).abs()
    reason = {
        "recut": "The bell is too large over the flare, surely enough and by enough to cut for.",
        "slide": "A slide of 0.24 mm, within what the target allows, brings every row into tolerance.",
        "leave": "The bell is inside its tolerance.",
        "wait": "What would come off is smaller than what three batches can settle.",
        "process": "The throat stands 0.4 mm open, ten times what brass can spring.",
        "new_flare": "The steel is 0.08 mm too small at z 401, and no axial move within the steel mends it.",
    }[verdict]
    fields: dict[str, Any] = {
        "target_id": "WREN-T",
        "mandrel_id": mandrel_id,
        "revision": 2,
        "units": "mm",
        "verdict": SimpleNamespace(
            verdict=verdict,
            reason=reason,
            slide_mm=-0.24,
            largest_error_mm=float(judged.max()),
            largest_error_at_mm=float(stations.z_mm[judged.idxmax()]),
            largest_cut_mm=float(taken.max()),
            largest_cut_at_mm=float(stations.z_mm[taken.idxmax()]),
            chance_out_before=0.94,
            chance_out_after=0.08,
            more_batches=3 if verdict == "wait" else None,
        ),
        "stations": stations,
        "cut_table": example_cut_table(stations) if cut else pd.DataFrame(),
        "facets": example_facets(),
        "forecast": example_forecast(),
        "corrected_forecast": example_forecast(scale=0.4),
        "conditions": SimpleNamespace(
            temper=None,
            wall_mm=0.5,
            anneal="full",
            passes=4,
            hump="good",
            tool_nose_mm=None,
            draw_end_mm=290.0,
            lubricant="soap",
        ),
        "model_version": "v0003",
        "book_digest": "9f2c4d1e77aa5b60",
        "tolerance_mm": TOLERANCE,
        "slide_allowance_mm": 0.5,
        "batches_used": 6,
        "bells_used": 41,
        "notes": ("Batch B004 is set aside.",),
        "as_cut": None,
    }
    return SimpleNamespace(**(fields | changes))


def example_facets() -> pd.DataFrame:
    """One facet of each place it can stand on, one of them on stations too sparse."""
    sparse = "stations of the mandrel too sparse to tell a depth: measure every 1/4 in"
    rows = (
        (1, "both", "dish", 316.0, 315.9, 0.081, 37.6, 0.74, 0.96, 0.08, 0.083, 6.35, ""),
        (2, "mandrel", "ridge", 352.4, np.nan, np.nan, np.nan, np.nan, np.nan, 0.0, np.nan, 12.7, sparse),
        (3, "target", "join", 401.2, 401.0, 0.0, 4.1, 0.61, 1.04, 0.092, 0.088, 3.2, ""),
    )
    return pd.DataFrame(list(rows), columns=list(FACET_COLUMNS))


def example_cut_table(stations: pd.DataFrame) -> pd.DataFrame:
    """The steps down to the cut of the example."""
    meridian = example_meridian()
    present = stations["present_diameter_mm"].to_numpy()
    cosine = np.cos(meridian.slope)
    cut, most = (
        (present - stations[column].to_numpy()) / 2.0 * cosine
        for column in ("cut_now_diameter_mm", "do_not_pass_diameter_mm")
    )
    return cut_table(meridian, np.where(cut > 0.002, cut, 0.0), most, skive_mm=0.1)
