"""Rough gaps: diameter readings laid on the mandrel of their bell, well enough to tell a mistake from springback.

The bell's wall is laid on the mandrel along the normal and nothing springs back; what is left of a reading is its
`gap_mm`, in the normal direction. Learning has its own, exact way from readings to observations.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from springfit.records.blank_cells import USUAL_WALL_MM, rim_at_stage
from springfit.records.book import Book
from springfit.records.reading_kinds import DATUMS, DIAMETERS, KINDS, z_from_tail
from springfit.records.rules.revisions import bells_on_steel

__all__ = ["SHEET", "MandrelProfile", "best_fit_stations", "mandrel_profiles", "rough_gaps", "slopes_at_stations"]

SHEET = ["bell_id", "stage", "kind", "datum"]  # readings of one sheet: taken in one way from one zero
_SLIDES = 60  # places tried along the steel for a sheet without a station: 5 to 8 mm apart, less than a flare is long
_LEAST_STEP_MM = 0.1  # of those places: finer than a hand places a bell
# Readings that decide where it fits: a sheet of a few hundred says the same with every tenth; by judgement
_ENOUGH = 40
_STEEPEST_COS = (
    0.1  # past 84 degrees a wall is ten times itself along z: the division is not followed further
)


@dataclass(frozen=True)
class MandrelProfile:
    """One revision of a mandrel: stations `z`, `diameter` [mm] and `slope` [rad], tail to rim."""

    mandrel_id: str
    revision: int
    z: np.ndarray
    diameter: np.ndarray
    slope: np.ndarray

    def slope_at(self, z: np.ndarray) -> np.ndarray:
        """Slope [rad] at stations z [mm]; past the ends that of the end."""
        return np.interp(z, self.z, self.slope)

    def normal_distance(self, z: np.ndarray, value: np.ndarray, wall: np.ndarray) -> np.ndarray:
        """Normal distance [mm] of readings `value` at `z` from the steel with `wall` laid on (0: inside)."""
        cos = np.maximum(np.cos(self.slope_at(z)), _STEEPEST_COS)
        return (value - np.interp(z, self.z, self.diameter)) / 2 * cos - wall

    def rim_station(self, rim: float, wall: float) -> float:
        """Station z [mm] past which the bell's outside is never below the diameter `rim`; NaN if none is. Learning goes
        by the steel's own diameter, and takes half a wall either way as unknown."""
        outside = self.diameter + 2 * wall / np.maximum(np.cos(self.slope), _STEEPEST_COS)
        below = np.flatnonzero(outside < rim)
        if not len(below):
            return float("nan")
        last = int(below[-1])
        if last + 1 == len(outside):
            return float(self.z[-1])
        return float(np.interp(rim, outside[last : last + 2], self.z[last : last + 2]))


def mandrel_profiles(book: Book) -> dict[tuple[str, int], MandrelProfile]:
    """Every revision of every mandrel in the book."""
    found = {}
    for mandrel, revision in zip(
        book.mandrels["mandrel_id"], book.mandrels["revision"].astype(int), strict=True
    ):
        z, diameter = book.profile(mandrel, revision)
        slope = np.arctan(np.gradient(diameter / 2, z))
        found[mandrel, revision] = MandrelProfile(mandrel, revision, z, diameter, slope)
    return found


def rough_gaps(book: Book, of: Mapping[tuple[str, int], MandrelProfile]) -> pd.DataFrame:
    """The diameter readings, labels kept, with where they lie on the mandrel and how far off it.

    Added columns: `code` (place of their mandrel's profile in `of`), `wall_mm`, `wall_crossed_mm` (what of the wall
    stands between the inside and the surface that was measured), `rim_mm` (the rim's diameter), `fitted` (the datum
    gave no station: the sheet was slid to its best fit), `station_mm` and `gap_mm` (normal distance).
    """
    readings, every = _with_bells(book, of), list(of.values())
    station = _stations(readings, every)
    readings["fitted"] = np.isnan(station)
    for rows in readings.groupby(SHEET, sort=False).indices.values() if readings["fitted"].any() else ():
        sheet = readings.iloc[rows]
        if sheet["fitted"].any():
            station[rows] = best_fit_stations(sheet, every[int(sheet["code"].iloc[0])])
    gap = np.full(len(readings), np.nan)
    value, crossed = (readings[name].to_numpy(float) for name in ("value_mm", "wall_crossed_mm"))
    for code, steel in enumerate(every):
        rows = np.flatnonzero(readings["code"] == code)
        gap[rows] = steel.normal_distance(station[rows], value[rows], crossed[rows])
    return readings.assign(station_mm=station, gap_mm=gap)


def slopes_at_stations(readings: pd.DataFrame, every: list[MandrelProfile]) -> np.ndarray:
    """Slope [rad] of the steel at the station of each reading (`code` and `station_mm` as `rough_gaps` gives them)."""
    code, station = readings["code"].to_numpy(), readings["station_mm"].to_numpy(float)
    slope = np.full(len(readings), np.nan)
    for number, steel in enumerate(every):
        at = np.flatnonzero(code == number)
        slope[at] = steel.slope_at(station[at])
    return slope


def _with_bells(book: Book, of: Mapping[tuple[str, int], MandrelProfile]) -> pd.DataFrame:
    """The diameter readings with what they take from their bell: mandrel, wall, rim."""
    columns = [*SHEET, "z_mm", "value_mm", "angle_deg", "gauge_id", "source_file"]
    readings = book.measurements.loc[book.measurements["kind"].isin(DIAMETERS), columns].copy()
    bells = bells_on_steel(book.batches, book.bells)
    number = {key: code for code, key in enumerate(of)}
    keys = zip(bells["mandrel_id"], bells["revision"].astype(int), strict=True)
    bells["code"] = [number[key] for key in keys]
    bell = bells.iloc[bells.index.get_indexer(pd.Index(readings["bell_id"].to_numpy(dtype=object)))]
    readings["code"] = bell["code"].to_numpy()
    readings["wall_mm"] = bell["wall_mm"].fillna(USUAL_WALL_MM).to_numpy(float)
    through_wall = readings["kind"].map({name: kind.through_wall for name, kind in KINDS.items()})
    readings["wall_crossed_mm"] = readings["wall_mm"].where(through_wall.astype(bool), 0.0)
    readings["rim_mm"] = rim_at_stage(readings["stage"], bell["blank_rim_mm"], bell["finished_rim_mm"])
    return readings


def _stations(readings: pd.DataFrame, every: list[MandrelProfile]) -> np.ndarray:
    """Station z [mm] of each reading as its datum has it; NaN where it has none."""
    rims = readings.loc[readings["datum"] == "rim", ["code", "rim_mm", "wall_mm"]].drop_duplicates()
    rim_z = {row: every[row[0]].rim_station(*row[1:]) for row in rims.itertuples(index=False, name=None)}
    keys = zip(readings["code"], readings["rim_mm"], readings["wall_mm"], strict=True)
    from_rim = np.array([rim_z.get(key, np.nan) for key in keys])
    datum, z = readings["datum"].to_numpy(dtype=object), readings["z_mm"].to_numpy(float)
    untied = np.isin(datum, [name for name, of_datum in DATUMS.items() if not of_datum.tied])
    return np.where(untied, np.nan, z_from_tail(datum, z, from_rim))


def best_fit_stations(sheet: pd.DataFrame, steel: MandrelProfile, scale: float = 1.0) -> np.ndarray:
    """Stations z [mm] of one sheet, slid to where its values times `scale` lie nearest the steel.

    From the rim z counts backward; a free scan may run either way.
    """
    z, value, crossed = (sheet[name].to_numpy(float) for name in ("z_mm", "value_mm", "wall_crossed_mm"))
    few = slice(None, None, max(1, len(z) // _ENOUGH))
    best: tuple[float, np.ndarray] = (np.inf, z)
    for way in (-1.0,) if DATUMS[sheet["datum"].iloc[0]].toward_rim < 0 else (1.0, -1.0):
        start, end = steel.z[0] - np.min(way * z), steel.z[-1] - np.max(way * z)
        step = max((end - start) / _SLIDES, _LEAST_STEP_MM)
        for _ in range(2):
            for slide in np.arange(start, max(end, start) + step / 2, step):
                station = slide + way * z
                gap = steel.normal_distance(station[few], value[few] * scale, crossed[few])
                best = min(best, (float(np.median(np.abs(gap))), station), key=lambda pair: pair[0])
            middle = float(best[1][0] - way * z[0])
            start, end, step = middle - step, middle + step, step / 10
    return best[1]
