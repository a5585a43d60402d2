"""A made-up correction with every column the reports read: an exponential horn whose flare sprang open."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd

from springfit.decisions.cut_tables.cutting import cut_table
from springfit.decisions.cut_tables.facet_table import FACET_COLUMNS
from springfit.decisions.evidence import MandrelEvidence
from springfit.decisions.forecast import Forecast
from springfit.decisions.verdict import reasons as why
from springfit.geometry.meridian import Meridian
from springfit.learning.coverage import CoverageNote
from tests.helpers.corrections.forecast_parts import parts_of

TOLERANCE = 0.05  # mm per side
LARCH = CoverageNote("nearest", ("LARCH",))
REASONS = {  # one that can stand behind each verdict
    "recut": why.SureCut(0.118, 412.0, 0.2, 405.0, True, 0.94, 0.08, 0.24),
    "slide": why.SlideSuffices(0.24, 0.5, 0.2, 0.04, TOLERANCE),
    "leave": why.ErrorWithinTolerance(0.03, 300.0, TOLERANCE),
    "wait": why.NotSureEnough(0.06, 401.0, 0.01, 0.025, 3),
    "process": why.BatchesScatter(0.4, 0.2, 6),
    "new_flare": why.SteelLacking(-0.08, 401.0, 0.996, None, 0.5),
}


def example_meridian() -> Meridian:
    """A flare of 12 mm at the tail and 120 mm at the rim, r = 6 + z/84 + 49 exp((z - 420) / 28)."""
    z = np.linspace(0.0, 420.0, 20001)
    flare = 49.0 * np.exp((z - 420.0) / 28.0)
    rise = 1.0 / 84.0 + flare / 28.0
    steps = np.hypot(np.diff(z), np.diff(6.0 + z / 84.0 + flare))
    s = np.concatenate(([0.0], np.cumsum(steps)))
    slope, curvature = np.arctan(rise), flare / 28.0**2 / (1.0 + rise**2) ** 1.5
    return Meridian(s, z, 6.0 + z / 84.0 + flare, slope, curvature).resampled(2.0)


def example_forecast(
    *, name: str = "as last time", scale: float = 1.0, notes: tuple[CoverageNote, ...] = (LARCH,)
) -> Forecast:
    """A gap that grows into the flare, with bands."""
    meridian = example_meridian()
    share = meridian.s / meridian.length
    gap = scale * 0.22 * share**6
    mean_sd = 0.008 + 0.03 * share**3
    shape_sd, place, place_sd = parts_of(meridian.slope, gap, mean_sd)
    return Forecast(
        name=name,
        meridian=meridian,
        arc=meridian.s,
        gap=gap,
        mean_sd=mean_sd,
        bell_sd=0.015 + 0.04 * share**3,
        shape_sd=shape_sd,
        place=place,
        place_sd=place_sd,
        axial=np.zeros_like(gap),
        freedom=6.0,
        trust=tuple(np.where(share > 0.97, "stretched", "inside").tolist()),
        notes=notes,
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
            "sure_removal_mm": 0.7 * need,
            "bells_error_mm": np.where((share > 0.4) & (share < 0.98), error - 0.005, np.nan),
            "bells_sd_mm": np.where((share > 0.4) & (share < 0.98), 0.006, np.nan),
            "masked": masked,
            "s_mm": s,
            "slope_rad": meridian.slope,
            "trust": np.where(share > 0.97, "stretched", "inside"),
        }
    )


def example_correction(
    *,
    verdict: str = "recut",
    mandrel_id: str = "WREN",
    notes: tuple[CoverageNote, ...] = (LARCH,),
    batches: int = 6,
    **changes: Any,
) -> Any:
    """A correction with the stated verdict, of seven bells a batch; `changes` replace whole fields."""
    cut = verdict == "recut"
    stations = example_stations(cut=cut)
    fields: dict[str, Any] = {
        "job": SimpleNamespace(
            target_id="WREN-T", mandrel_id=mandrel_id, revision=2, tolerance_mm=TOLERANCE, slide_allowance_mm=0.5
        ),
        "case": example_case(batches),
        "cuts_steel": cut,
        "verdict": example_verdict(verdict, stations),
        "stations": stations,
        "decision": SimpleNamespace(sure_mm=stations["sure_removal_mm"].to_numpy(float)),
        "cut_table": example_cut_table(stations) if cut else pd.DataFrame(),
        "facets": example_facets(),
        "forecast": example_forecast(notes=notes),
        "corrected_forecast": example_forecast(scale=0.4),
        "conditions": SimpleNamespace(
            temper=None, wall_mm=0.5, anneal="full", passes=4, hump="good", tool_nose_mm=None, draw_end_mm=290.0,
            lubricant="soap",
        ),
        "model_version": "v0003",
        "book_digest": "9f2c4d1e77aa5b60",
        "as_cut": None,
        "folds_at_mm": None,
        "settling": (),
        "measured": example_measured(),
    }
    return SimpleNamespace(**(fields | changes))


def example_verdict(verdict: str, stations: pd.DataFrame) -> Any:
    """The verdict with the largest error and cut of the stations."""
    taken = (stations.present_diameter_mm - stations.cut_now_diameter_mm) / 2.0
    judged = stations.error_mm.where(~stations.masked, 0.0).abs()
    return SimpleNamespace(
        verdict=verdict,
        reason=REASONS[verdict],
        slide_mm=-0.24,
        largest_error_mm=float(judged.max()),
        largest_error_at_mm=float(stations.z_mm[judged.idxmax()]),
        largest_cut_mm=float(taken.max()),
        largest_cut_at_mm=float(stations.z_mm[taken.idxmax()]),
        chance_out_before=0.94,
        chance_out_after=0.08,
        chance_out_scatter=0.03,
        more_batches=3 if verdict == "wait" else None,
    )


def example_measured() -> pd.DataFrame:
    """Two batches measured at seven stations, the older of another temper."""
    meridian = example_meridian()
    points = meridian.at(np.linspace(0.4, 0.97, 7) * meridian.length)
    error = 0.2 * (points.s / meridian.length) ** 6
    return pd.concat(
        pd.DataFrame(
            {
                "batch_id": name, "spun_on": "2025-03-01", "revision": 2, "bells": 4, "z_mm": points.z,
                "s_mm": points.s, "slope_rad": points.slope, "measured_error_mm": error + off, "sd_mm": 0.01,
                "forecast_error_mm": error, "used": not unlike, "unlike": unlike,
            }
        )
        for name, off, unlike in (("B004", 0.02, "temper"), ("B007", -0.01, ""))
    ).reset_index(drop=True)  # fmt: skip


def example_case(batches: int) -> Any:
    """What the notes of a correction are made of: evidence, and how sure each part of the error is."""
    meridian = example_meridian()
    s = meridian.s
    sd = np.full(s.size, 0.01)
    evidence = MandrelEvidence(batches, 7 * batches, 0.004, 5.0, (), s, 0.0 * s, sd)
    rows = example_stations()
    parts = {name: rows[f"error_{name}_mm"].to_numpy(float) for name in ("steel", "springback", "unexplained")}
    spreads = {"steel_sd": 0.3 * sd, "springback_sd": 3.0 * sd, "unexplained_sd": sd}
    split = SimpleNamespace(error=rows["error_mm"].to_numpy(float), **parts, **spreads)
    judged = (s >= 3.0) & (s <= meridian.length - 6.0)
    return SimpleNamespace(
        mandrel=meridian, evidence=evidence, split=split, open=judged, ceiling_mm=None, unwritten=()
    )


def example_facets() -> pd.DataFrame:
    """One facet of each place it can stand on, one of them on stations too sparse."""
    nan = np.nan
    rows = (
        (1, "both", "dish", 316.0, 315.9, 0.081, 37.6, 0.74, 0.96, 0.08, 0.083, 6.35, nan, nan, False),
        (2, "mandrel", "ridge", 352.4, nan, nan, nan, nan, nan, 0.0, nan, 12.7, 7.0, nan, False),
        (3, "target", "join", 401.2, 401.0, 0.0, 4.1, 0.61, 1.04, 0.092, 0.088, 3.2, nan, nan, False),
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
