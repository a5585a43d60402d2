"""Originals as they were measured, each on its inside surface: outside diameters less the wall, along the normal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from springfit.findings import BookError, Finding
from springfit.geometry.meridian import meridian_from_stations
from springfit.geometry.points import FloatArray
from springfit.lengths import in_words
from springfit.records.blank_cells import USUAL_WALL_MM
from springfit.records.book import Book
from springfit.records.rules.usual_gauges import UNNAMED
from springfit.records.tables import FEWEST_STATIONS

__all__ = ["Specimen", "specimens_of"]

LEAST_ERROR = 0.004  # [mm] of a diameter: the best gauge of the record book's range


@dataclass(frozen=True)
class Specimen:
    """One original: inside points (z, r) (n,) [mm], z from its own tail, and 1 sd of each along the normal [mm].

    trust: 0 to 1. wall [mm], and whether it was stated. through_wall: whether any point was read on the outside.
    """

    specimen_id: str
    trust: float
    wall: float
    wall_stated: bool
    through_wall: bool
    z: FloatArray
    r: FloatArray
    error: FloatArray
    note: str | None


def specimens_of(book: Book, family: str) -> tuple[tuple[Specimen, ...], tuple[Finding, ...]]:
    """The specimens of a family that can be used, and a doubt for each that cannot.

    Raises BookError for a family that the book does not have, or when none of its specimens can be used.
    """
    heads = book.specimens[book.specimens["family"] == family]
    if not len(heads):
        known = ", ".join(sorted(map(str, book.specimens["family"].dropna().unique()))) or "no family at all"
        raise BookError(
            [Finding("error", "specimens", None, "family", f"no specimen of family {family!r}", known)]
        )
    walls = heads["wall_mm"].to_numpy(float)
    usual = float(np.nanmedian(walls)) if np.isfinite(walls).any() else USUAL_WALL_MM
    used, doubts = [], []
    for row in heads.index:
        specimen, said = _specimen(book, heads, row, usual)
        doubts += said
        if specimen is not None:
            used.append(specimen)
    if not used:
        raise BookError([_as_error(doubt) for doubt in doubts])
    return tuple(used), tuple(doubts)


def _specimen(
    book: Book, heads: pd.DataFrame, row: int, usual_wall: float
) -> tuple[Specimen | None, list[Finding]]:
    head: Any = heads.loc[row]
    name = str(head["specimen_id"])
    points = book.specimen_points
    points = points[(points["specimen_id"] == name) & (points["kind"] != "clearance")]
    trust = 1.0 if np.isnan(head["trust"]) else float(head["trust"])

    def doubt(
        what: str, expected: str, remedy: str = "", *, aside: bool = True, column: str | None = None
    ) -> Finding:
        return book.finding(
            "doubt", "specimens", row, column, what=f"{name}: {what}", expected=expected, remedy=remedy,
            subject=name, sets_aside=aside,
        )  # fmt: skip

    stations = _stations(points, book.gauges)
    unfit = _unfit(stations, trust, book.units)
    if unfit is not None:
        return None, [doubt(*unfit)]
    stated = bool(np.isfinite(head["wall_mm"]))
    wall = float(head["wall_mm"]) if stated else usual_wall
    outside = bool((stations["kind"] == "outside_diameter").any())
    said = []
    if outside and not stated:
        what, remedy = (
            "no wall is stated",
            f"taken as {in_words(wall, book.units, digits='.3f')}; its common offset is free to say otherwise",
        )
        said = [doubt(what, "the wall of a bell read on its outside", remedy, aside=False, column="wall_mm")]
    note = None if pd.isna(head["note"]) else str(head["note"])
    try:
        z, r, error = _inside(stations, wall)
    except ValueError as rough:
        return None, [
            *said,
            doubt(str(rough), "stations that follow one smooth line", "look for a slip; left out"),
        ]
    return Specimen(name, trust, wall, stated, outside, z, r, error, note), said


def _unfit(stations: pd.DataFrame, trust: float, units: str) -> tuple[str, str, str] | None:
    """What is wrong with a specimen as a whole, what was expected and what to do; None where nothing is."""
    count, value = len(stations), stations["value"]
    if count < FEWEST_STATIONS:
        what = "a single station" if count == 1 else f"{count} stations"
        return what, f"at least {FEWEST_STATIONS} from tail to rim", "measure more; left out"
    if stations["z"].corr(value) < 0:
        tail, rim = (in_words(float(end), units, digits=".1f") for end in (value.iloc[0], value.iloc[-1]))
        what = f"diameters fall from {tail} at its tail to {rim}"
        expected = "z from the small end, diameters growing to the rim"
        return what, expected, "it seems to be turned end for end; left out"
    if trust == 0:
        return "trust 0", "trust above 0 to count", "left out"
    return None


def _stations(points: pd.DataFrame, gauges: pd.DataFrame) -> pd.DataFrame:
    """One row a kind and station, several angles averaged: z, value, kind, sizing and placing errors [mm]."""
    known = gauges.set_index("gauge_id")[["repeatability_mm", "station_mm"]]
    rows = points.join(known, on="gauge_id")
    rows = rows.fillna({"repeatability_mm": UNNAMED.repeatability_mm, "station_mm": UNNAMED.station_mm})
    grouped = rows.groupby(["kind", "z_mm"], sort=True).agg(
        value=("value_mm", "mean"), sizing=("repeatability_mm", "mean"), placing=("station_mm", "mean"),
        count=("value_mm", "size"),
    )  # fmt: skip
    table = grouped.reset_index().rename(columns={"z_mm": "z"}).sort_values("z", kind="stable")
    table["sizing"] = np.maximum(table["sizing"] / np.sqrt(table["count"]), LEAST_ERROR)
    return table


def _inside(stations: pd.DataFrame, wall: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Inside points and their errors along the normal; each surface read has its own slope from its own stations."""
    parts = []
    for kind, rows in stations.groupby("kind"):
        z, value = rows["z"].to_numpy(float), rows["value"].to_numpy(float)
        sizing, placing = rows["sizing"].to_numpy(float), rows["placing"].to_numpy(float)
        line = meridian_from_stations(
            z, value, diameter_error=float(np.median(sizing)), z_error=float(np.median(placing))
        )
        slope = np.interp(z, line.z, line.slope)
        inward = wall if kind == "outside_diameter" else 0.0
        error = np.hypot(sizing / 2 * np.cos(slope), placing * np.sin(slope))
        parts.append((z + inward * np.sin(slope), value / 2 - inward * np.cos(slope), error))
    z, r, error = (np.concatenate(columns) for columns in zip(*parts, strict=True))
    order = np.argsort(z, kind="stable")
    return z[order], r[order], error[order]


def _as_error(doubt: Finding) -> Finding:
    return Finding("error", doubt.file, doubt.row, doubt.column, doubt.what, doubt.expected, doubt.remedy)
