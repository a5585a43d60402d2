"""Drawn books on which a wanted line may fold, bands are wild or readings few: always a report, never a traceback.

The forecast is made up and as bad as can be, for what is tried is everything after it.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as some

from springfit.decisions.correction import Correction, correct
from springfit.decisions.evidence import MandrelEvidence
from springfit.decisions.forecast import Forecast
from springfit.geometry.meridian import Meridian
from springfit.records.book import Book
from springfit.records.conditions import Conditions
from springfit.records.reading import read_book
from springfit.reporting.output_files import write_correction
from springfit.reporting.pages.correction_summary import summarise
from tests.helpers.corrections.decisions_shop import evidence
from tests.helpers.corrections.forecast_parts import parts_of
from tests.helpers.corrections.made_meridians import trim_at_rim

FEW, MANY = 2, 500
RIM_MM, WALL_MM = 118.0, 0.5
ALL_FILES = 7
PLACE_MM = 1.0  # of z: at a rim so flat some millimetres of arc
DRAWN = (Phase.explicit, Phase.generate)  # a failing draw is said as it is: making it smaller takes minutes
DRAWS = {
    "width": some.floats(8.0, 30.0),  # of the flare: short ones are nearly flat at the rim
    "digits": some.integers(2, 4),  # the profile is written to
    "steel": some.floats(-0.4, 0.4),
    "gap": some.floats(-0.6, 0.6),
    "wave": some.floats(-0.3, 0.3),
    "sd": some.floats(0.002, 3.0),
    "batches": some.integers(0, 3),
    "agree": some.booleans(),  # bells with the forecast: else they stand where it does not
    "allowance": some.sampled_from(["", "0.8"]),
    "stations": some.integers(1, 14),
    "seed": some.integers(0, 10**6),
}


class WildShop:
    """A shop whose forecast is a slope of gap and a wave, as sure as drawn."""

    version = "wild"

    def __init__(self, drawn: dict[str, Any]) -> None:
        self.drawn = drawn

    def forecast(self, mandrel: Meridian, conditions: Conditions, *, laid_on: Meridian | None = None) -> Forecast:
        bell = trim_at_rim(mandrel, min(RIM_MM / 2, float(mandrel.r[-1]))).resampled(1.0)
        share = bell.s / bell.length
        gap = wild_gap(self.drawn, share)
        sd = 0.002 + self.drawn["sd"] * share**3
        shape_sd, place, place_sd = parts_of(bell.slope, gap, sd)
        return Forecast(
            bell.s, gap, sd, 1.5 * sd, shape_sd, place, place_sd, 0 * gap, 3.0,
            ("inside",) * bell.s.size, (), "wild", bell,
        )  # fmt: skip

    def evidence(self, mandrel_id: str, revision: int, mandrel: Meridian) -> MandrelEvidence:
        return evidence(batches=max(self.drawn["batches"], 1))


def wild_gap(drawn: dict[str, Any], share: np.ndarray) -> np.ndarray:
    """Gap [mm] by the share of the arc."""
    return np.asarray(drawn["gap"] * share**4 + drawn["wave"] * np.sin(20.0 * share) * share)


def radius(z: np.ndarray, width: float) -> np.ndarray:
    """A flare from 6 mm at the tail to 60 mm at 280 mm."""
    return 6.0 + z / 100.0 + 51.2 * np.exp((z - 280.0) / width)


def shares(at: np.ndarray, width: float) -> np.ndarray:
    """Places `at` [mm of z] as shares of the arc from the tail to the finished rim."""
    z = np.linspace(0, 280, 28001)
    r = radius(z, width)
    arc = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(z), np.diff(r)))))
    return np.asarray(np.interp(at, z, arc) / arc[r < RIM_MM / 2][-1])


def book_of(drawn: dict[str, Any], folder: Path) -> Book:
    """One mandrel, its target, and bells that stand about where the forecast does not."""
    random, width = np.random.default_rng(drawn["seed"]), drawn["width"]
    z = np.unique(np.concatenate((np.linspace(0, 280, 57), 280 - width * np.linspace(0, 1.5, 16))))
    steel = np.round(2 * radius(z, width), drawn["digits"])
    slope = np.gradient(radius(z, width), z)
    wanted = 2 * (radius(z, width) - drawn["steel"] * (z / 280) ** 6 * np.sqrt(1 + slope**2))
    at = np.sort(random.choice(z[8:-3], drawn["stations"], replace=False))
    bells = [f"B{i}-{k}" for i in range(drawn["batches"]) for k in range(2)]
    off = WALL_MM + drawn["agree"] * wild_gap(drawn, shares(at, width))
    outside = 2 * (radius(at, width) + off * np.sqrt(1 + np.interp(at, z, slope) ** 2))
    tables = {
        "mandrels": ["mandrel_id,revision,in_force_from,finish", "M,0,2025-01-01,bare"],
        "mandrel_profile": ["mandrel_id,revision,z_mm,diameter_mm", *_rows("M,0", z, steel)],
        "targets": ["target_id,mandrel_id,tolerance_mm,slide_mm", f"T,M,0.05,{drawn['allowance']}"],
        "target_profile": ["target_id,z_mm,diameter_mm", *_rows("T", z, np.maximum(wanted, 2.0))],
        "batches": [
            "batch_id,spun_on,mandrel_id,alloy,passes,wall_mm,finished_rim_mm",
            *(f"B{i},2025-02-{i + 1:02d},M,C26000,4,{WALL_MM},{RIM_MM}" for i in range(drawn["batches"])),
        ],
        "bells": ["bell_id,batch_id,witness_z_mm", *(f"{bell},{bell.split('-')[0]},150" for bell in bells)],
        "measurements": [
            "bell_id,stage,kind,datum,z_mm,value_mm,gauge_id",
            *(
                f"{bell},trimmed,outside_diameter,witness,{a:.3f},{b + 0.05 * random.standard_normal():.3f},G"
                for bell in bells for a, b in zip(at, outside, strict=True)
            ),
        ],
        "gauges": ["gauge_id,what,repeatability_mm,station_mm,ball_radius_mm", "G,caliper,0.02,0.3,0"],
    }  # fmt: skip
    for name, lines in tables.items():
        (folder / f"{name}.csv").write_text("\n".join(lines) + "\n")
    return read_book(folder)[0]


def _rows(name: str, z: np.ndarray, diameter: np.ndarray) -> Iterator[str]:
    return (f"{name},{a:.4f},{b:.4f}" for a, b in zip(z, diameter, strict=True))


def told(drawn: dict[str, Any], folder: Path) -> Correction:
    conditions = Conditions("asked", "C26000", finished_rim_mm=RIM_MM, wall_mm=WALL_MM)
    return correct(WildShop(drawn), book_of(drawn, folder), "T", conditions=conditions)


def holds(drawn: dict[str, Any]) -> None:
    """There is an answer; sizes go one way along the line and nothing is turned larger than it can be."""
    with tempfile.TemporaryDirectory() as folder:
        result = told(drawn, Path(folder))
    assert summarise(result, units="mm").action
    table, stations = result.cut_table, result.stations
    assert (stations["cut_now_diameter_mm"] <= stations["present_diameter_mm"] + 1e-6).all()
    if len(table):
        for _, stretch in table.groupby((table["step"].diff() != 1).cumsum()):
            assert (np.diff(stretch["z_mm"]) > -1e-9).all()
    if result.folds_at_mm is not None:
        assert result.verdict.verdict == "new_flare"
        assert not len(table) or table["z_mm"].max() <= result.folds_at_mm + 1.0


@settings(max_examples=FEW, deadline=None, suppress_health_check=list(HealthCheck), phases=DRAWN)
@given(some.fixed_dictionaries(DRAWS))
def test_a_drawn_book_always_gets_an_answer(drawn: dict[str, Any]) -> None:
    holds(drawn)


@pytest.mark.benchmark
@settings(max_examples=MANY, deadline=None, suppress_health_check=list(HealthCheck), phases=DRAWN)
@given(some.fixed_dictionaries(DRAWS))
def test_five_hundred_drawn_books_always_get_an_answer(drawn: dict[str, Any]) -> None:
    holds(drawn)


def fold_of(drawn: dict[str, Any]) -> float:
    """z [mm] at which the line wanted turns back toward the tail, by the drawn formulas alone: the target moved against
    the gap along its normal, on the bell as far as its finished rim."""
    width = drawn["width"]
    z = np.linspace(0, 280, 280001)
    z = z[radius(z, width) < RIM_MM / 2]
    slope = np.arctan(np.gradient(radius(z, width), z))
    wanted = drawn["steel"] * (z / 280) ** 6 + wild_gap(drawn, shares(z, width))
    back = np.flatnonzero(np.diff(z + wanted * np.sin(slope)) < 0.0)
    return float(z[back[0]])


def test_a_new_flare_that_folds_back_at_the_rim_is_said_by_place(tmp_path: Path) -> None:
    """A target larger than a rim that lies nearly flat, and a gap that falls toward the rim: the wanted line turns
    back there, while the flare before it can be turned and is surely too small."""
    drawn = {
        "width": 2.0, "digits": 4, "steel": -0.8, "gap": -0.6, "wave": -1.0, "sd": 0.002, "batches": 3, "agree": True,
        "allowance": "", "stations": 14, "seed": 1,
    }  # fmt: skip
    result = told(drawn, tmp_path)
    assert result.verdict.verdict == "new_flare"
    assert result.folds_at_mm == pytest.approx(fold_of(drawn), abs=PLACE_MM)
    assert len(result.cut_table) and result.cut_table["z_mm"].max() < result.folds_at_mm + 1.0
    said = " ".join(summarise(result, units="mm").limits)
    assert "folds back" in said
    assert len(write_correction(result, tmp_path / "out", units="mm")) >= ALL_FILES
