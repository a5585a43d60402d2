"""What each reading of a book would be by its neighbours on the sheet and by the other bells of the same steel."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.records.book import Book
from springfit.records.checks.rough_gaps import SHEET, MandrelProfile
from springfit.records.checks.slips.compared_readings import ComparedReadings, expected
from springfit.records.reading_kinds import FROM_THE_TAIL
from springfit.records.rules.revisions import bells_on_steel

__all__ = ["chords_at", "compared_rows", "radii_at", "with_expected"]

Floats = NDArray[np.float64]

_OF_GAUGE = ("repeatability_mm", "station_mm")  # standard deviations of a value and of a station


def with_expected(
    book: Book, readings: pd.DataFrame, of: Mapping[tuple[str, int], MandrelProfile]
) -> pd.DataFrame:
    """Diameters (as `rough_gaps` has them) and clearances, ordered by sheet and station, with `level_mm` (the gap less
    that of other bells there), `away_mm` (normal, how far from what is expected), `sd_mm` (usual there), `borne_out`
    (another sheet shows the same), `slope` of the steel and `per_value` (mm of normal distance a mm of value)."""
    rows, compared = compared_rows(book, readings, of)
    said = expected(compared)
    return rows.assign(
        slope=compared.slope, per_value=compared.per_value, level_mm=said.level, away_mm=said.away, sd_mm=said.sd,
        borne_out=said.borne_out,
    )  # fmt: skip


def compared_rows(
    book: Book, readings: pd.DataFrame, of: Mapping[tuple[str, int], MandrelProfile]
) -> tuple[pd.DataFrame, ComparedReadings]:
    """The readings whose place is known, ordered by sheet and station, and the same as columns to be compared."""
    # A sheet without a station was slid to its best fit: where its readings lie is not known well enough to judge one.
    tied = readings[~readings["fitted"]]
    both = pd.concat([tied, _clearances(book, of)]) if (book.measurements["kind"] == "clearance").any() else tied
    known = both[both["gap_mm"].notna() & both["station_mm"].notna()]
    rows = known.sort_values([*SHEET, "gauge_id", "station_mm"], kind="stable")
    steel, station = rows["code"].to_numpy(int), rows["station_mm"].to_numpy(float)
    every, clearance = list(of.values()), (rows["kind"] == "clearance").to_numpy()
    slope = _on_each(every, steel, station, MandrelProfile.slope_at)
    batch = dict(zip(book.bells["bell_id"], book.bells["batch_id"], strict=True))
    gauges = book.gauges.set_index("gauge_id")
    repeat, placed = (rows["gauge_id"].map(gauges[name]).to_numpy(float) for name in _OF_GAUGE)
    named = (rows["kind"], rows["bell_id"], rows["bell_id"].map(batch), rows["gauge_id"])
    kind, bell, of_batch, gauge = (pd.factorize(names)[0] for names in named)
    return rows, ComparedReadings(
        steel=steel, kind=kind, bell=bell, batch=of_batch, gauge=gauge,
        sheet=rows.groupby([*SHEET, "gauge_id"], sort=False).ngroup().to_numpy(), clearance=clearance, station=station,
        gap=rows["gap_mm"].to_numpy(float), slope=slope, radius=_on_each(every, steel, station, radii_at),
        chord=_on_each(every, steel, station, chords_at), angle=rows["angle_deg"].to_numpy(float),
        per_value=np.where(clearance, 1.0, np.cos(slope) / 2), repeat=repeat, placed=placed,
    )  # fmt: skip


def chords_at(steel: MandrelProfile, station: Floats) -> Floats:
    """How far the steel may bend from the straight line between its stations there, normal [mm]: h^2 r'' / 8."""
    bend = np.abs(np.gradient(np.gradient(steel.diameter / 2, steel.z), steel.z)) * np.cos(steel.slope)
    return np.interp(station, steel.z, bend * np.gradient(steel.z) ** 2 / 8)


def radii_at(steel: MandrelProfile, station: Floats) -> Floats:
    """Radius of the steel there [mm]; past its ends that of the end."""
    return np.interp(station, steel.z, steel.diameter / 2)


def _on_each(
    every: Sequence[MandrelProfile], code: NDArray[np.intp], station: Floats,
    of: Callable[[MandrelProfile, Floats], Floats],
) -> Floats:  # fmt: skip
    """What `of` says of each station on its own steel."""
    found = np.zeros(len(station))
    for number, steel in enumerate(every):
        at = np.flatnonzero(code == number)
        found[at] = of(steel, station[at])
    return found


def _clearances(book: Book, of: Mapping[tuple[str, int], MandrelProfile]) -> pd.DataFrame:
    """The clearances, in the columns of `rough_gaps`: they are normal distances already."""
    columns = [*SHEET, "z_mm", "value_mm", "angle_deg", "gauge_id", "source_file"]
    readings = book.measurements.loc[book.measurements["kind"] == "clearance", columns].copy()
    bells = bells_on_steel(book.batches, book.bells)
    number = {key: code for code, key in enumerate(of)}
    codes = {
        bell: number[mandrel, int(revision)]
        for bell, mandrel, revision in zip(bells.index, bells["mandrel_id"], bells["revision"], strict=True)
    }
    readings["code"] = readings["bell_id"].map(codes)
    tied = readings["datum"].isin(FROM_THE_TAIL)
    readings["station_mm"] = readings["z_mm"].where(tied)
    readings["gap_mm"] = readings["value_mm"]
    return readings
