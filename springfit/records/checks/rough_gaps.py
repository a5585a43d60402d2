"""Diameter readings placed on the steel of their bell, roughly: enough to tell a mistake from a gap.

The bell's wall is laid on the mandrel along the normal and nothing springs back; what is left of a reading is
its `off_mm`, in the normal direction. Learning has its own, exact way from readings to observations.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from springfit.records.book import Book
from springfit.records.rules.revisions import bells_on_steel

__all__ = ["SHEET", "Steel", "fitted_stations", "placed_readings", "steels"]

_DIAMETER_KINDS = ("outside_diameter", "inside_diameter", "axial_at_diameter")
SHEET = ["bell_id", "stage", "kind", "datum"]  # readings of one sheet: taken in one way from one zero
_ORDINARY_WALL_MM = 0.5  # stands in for an unknown wall: its error is far below any mistake looked for
_SLIDES = 60  # places along the steel that a sheet without a station is tried at
_ENOUGH = 40  # readings that decide where it fits
_STEEPEST_COS = 0.1  # the wall along z is not followed past 84 degrees


@dataclass(frozen=True)
class Steel:
    """One revision of a mandrel: stations `z`, `diameter` [mm] and `slope` [rad], tail to rim."""

    mandrel_id: str
    revision: int
    z: np.ndarray
    diameter: np.ndarray
    slope: np.ndarray

    def slope_at(self, z: np.ndarray) -> np.ndarray:
        """Slope [rad] at stations z [mm]; past the ends that of the end."""
        return np.interp(z, self.z, self.slope)

    def off(self, z: np.ndarray, value: np.ndarray, wall: np.ndarray) -> np.ndarray:
        """Normal distance [mm] of readings `value` at `z` from the steel with `wall` laid on (0: inside)."""
        cos = np.maximum(np.cos(self.slope_at(z)), _STEEPEST_COS)
        return (value - np.interp(z, self.z, self.diameter)) / 2 * cos - wall

    def rim_station(self, rim: float, wall: float) -> float:
        """Station z [mm] past which the bell's outside is never below the diameter `rim`; NaN if none is."""
        outside = self.diameter + 2 * wall / np.maximum(np.cos(self.slope), _STEEPEST_COS)
        below = np.flatnonzero(outside < rim)
        if not len(below):
            return float("nan")
        last = int(below[-1])
        if last + 1 == len(outside):
            return float(self.z[-1])
        return float(np.interp(rim, outside[last : last + 2], self.z[last : last + 2]))


def steels(book: Book) -> dict[tuple[str, int], Steel]:
    """Every revision of every mandrel in the book."""
    found = {}
    for mandrel, revision in zip(
        book.mandrels["mandrel_id"], book.mandrels["revision"].astype(int), strict=True
    ):
        z, diameter = book.profile(mandrel, revision)
        slope = np.arctan(np.gradient(diameter / 2, z))
        found[mandrel, revision] = Steel(mandrel, revision, z, diameter, slope)
    return found


def placed_readings(book: Book, of: dict[tuple[str, int], Steel]) -> pd.DataFrame:
    """The diameter readings, labels kept, with where they lie and how far off the steel.

    Added columns: `code` (place of their steel in `of`), `wall_mm`, `skin_mm` (wall over the inside surface),
    `rim_mm` (the rim's diameter), `fitted` (the datum gave no station: the sheet was slid to its best fit),
    `station_mm` and `off_mm` (normal distance).
    """
    columns = [*SHEET, "z_mm", "value_mm", "angle_deg", "gauge_id", "source_file"]
    readings = book.measurements.loc[book.measurements["kind"].isin(_DIAMETER_KINDS), columns].copy()
    bells = bells_on_steel(book.batches, book.bells)
    number = {key: code for code, key in enumerate(of)}
    bells["code"] = [
        number[key] for key in zip(bells["mandrel_id"], bells["revision"].astype(int), strict=True)
    ]
    bell = bells.iloc[bells.index.get_indexer(pd.Index(readings["bell_id"].to_numpy(dtype=object)))]
    readings["code"] = bell["code"].to_numpy()
    readings["wall_mm"] = bell["wall_mm"].fillna(_ORDINARY_WALL_MM).to_numpy(float)
    readings["skin_mm"] = readings["wall_mm"].where(readings["kind"] != "inside_diameter", 0.0)
    spun = (readings["stage"] == "spun").to_numpy()
    readings["rim_mm"] = np.where(spun, bell["blank_rim_mm"], bell["finished_rim_mm"])
    every = list(of.values())
    station = _stations(readings, every)
    readings["fitted"] = np.isnan(station)
    for rows in readings.groupby(SHEET, sort=False).indices.values() if readings["fitted"].any() else ():
        sheet = readings.iloc[rows]
        if sheet["fitted"].any():
            station[rows] = fitted_stations(sheet, every[int(sheet["code"].iloc[0])])
    off = np.full(len(readings), np.nan)
    value, skin = (readings[name].to_numpy(float) for name in ("value_mm", "skin_mm"))
    for code, steel in enumerate(every):
        rows = np.flatnonzero(readings["code"] == code)
        off[rows] = steel.off(station[rows], value[rows], skin[rows])
    return readings.assign(station_mm=station, off_mm=off)


def _stations(readings: pd.DataFrame, every: list[Steel]) -> np.ndarray:
    """Station z [mm] of each reading as its datum has it; NaN where it has none."""
    rims = readings.loc[readings["datum"] == "rim", ["code", "rim_mm", "wall_mm"]].drop_duplicates()
    rim_z = {row: every[row[0]].rim_station(*row[1:]) for row in rims.itertuples(index=False, name=None)}
    keys = zip(readings["code"], readings["rim_mm"], readings["wall_mm"], strict=True)
    from_rim = np.array([rim_z.get(key, np.nan) for key in keys])
    datum, z = readings["datum"].to_numpy(dtype=object), readings["z_mm"].to_numpy(float)
    return np.where(datum == "rim", from_rim - z, np.where(datum == "free", np.nan, z))


def fitted_stations(sheet: pd.DataFrame, steel: Steel, scale: float = 1.0) -> np.ndarray:
    """Stations z [mm] of one sheet, slid to where its values times `scale` lie nearest the steel.

    From the rim z counts backward; a free scan may run either way.
    """
    z, value, skin = (sheet[name].to_numpy(float) for name in ("z_mm", "value_mm", "skin_mm"))
    few = slice(None, None, max(1, len(z) // _ENOUGH))
    best: tuple[float, np.ndarray] = (np.inf, z)
    for way in (-1.0,) if sheet["datum"].iloc[0] == "rim" else (1.0, -1.0):
        start, end = steel.z[0] - np.min(way * z), steel.z[-1] - np.max(way * z)
        step = max((end - start) / _SLIDES, 0.1)
        for _ in range(2):
            for slide in np.arange(start, max(end, start) + step / 2, step):
                station = slide + way * z
                off = float(np.median(np.abs(steel.off(station[few], value[few] * scale, skin[few]))))
                best = min(best, (off, station), key=lambda pair: pair[0])
            middle = float(best[1][0] - way * z[0])
            start, end, step = middle - step, middle + step, step / 10
    return best[1]
