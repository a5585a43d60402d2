"""Diameter readings placed on the steel of their bell, roughly: enough to tell a mistake from a gap.

The bell's wall is laid on the mandrel along the normal and nothing springs back; what is left of a reading is
its `off_mm`, in the normal direction. Learning has its own, exact way from readings to observations.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from springfit.records.book import Book
from springfit.records.steel import bells_on_steel

__all__ = ["DIAMETER_KINDS", "SHEET", "Steel", "placed_readings", "steels"]

DIAMETER_KINDS = ("outside_diameter", "inside_diameter", "axial_at_diameter")
SHEET = ["bell_id", "stage", "kind", "datum"]  # readings of one sheet: taken in one way from one zero
_ORDINARY_WALL_MM = 0.5  # stands in for an unknown wall: its error is far below any mistake looked for
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
    """The diameter readings with `code` (place of their steel in `of`), `wall_mm`, `skin_mm` (wall over the inside
    surface), `rim_z_mm`, `station_mm` and `off_mm`; NaN where the datum gives no station. Labels are kept."""
    kinds = book.measurements["kind"].isin(DIAMETER_KINDS)
    readings = book.measurements.loc[
        kinds, [*SHEET, "z_mm", "value_mm", "angle_deg", "gauge_id", "source_file"]
    ]
    bells = _bells(book, of)
    place = bells.index.get_indexer(pd.Index(readings["bell_id"].to_numpy(dtype=object)))
    wall = bells["wall_mm"].fillna(_ORDINARY_WALL_MM).to_numpy(float)[place]
    spun = (readings["stage"] == "spun").to_numpy()
    rim_z = np.where(
        spun, bells["spun_z_mm"].to_numpy(float)[place], bells["trimmed_z_mm"].to_numpy(float)[place]
    )
    z = readings["z_mm"].to_numpy(float)
    datum = readings["datum"].to_numpy(dtype=object)
    skin = np.where(readings["kind"] == "inside_diameter", 0.0, wall)
    station = np.where(datum == "rim", rim_z - z, np.where(datum == "free", np.nan, z))
    code = bells["code"].to_numpy(int)[place]
    off = np.full(len(readings), np.nan)
    for number, steel in enumerate(of.values()):
        rows = np.flatnonzero(code == number)
        off[rows] = steel.off(station[rows], readings["value_mm"].to_numpy(float)[rows], skin[rows])
    added: dict[str, Any] = {
        "code": code,
        "wall_mm": wall,
        "skin_mm": skin,
        "rim_z_mm": rim_z,
        "station_mm": station,
        "off_mm": off,
    }
    return readings.assign(**added)


def _bells(book: Book, of: dict[tuple[str, int], Steel]) -> pd.DataFrame:
    """Bells with the number of their steel and the stations of their rims, spun and trimmed."""
    bells = bells_on_steel(book.batches, book.bells)
    number = {key: n for n, key in enumerate(of)}
    every = list(of.values())
    known: dict[tuple, float] = {}

    def rim_z(code: int, rim: float, wall: float) -> float:
        if (code, rim, wall) not in known:
            known[code, rim, wall] = every[code].rim_station(
                rim, _ORDINARY_WALL_MM if np.isnan(wall) else wall
            )
        return known[code, rim, wall]

    keys = zip(bells["mandrel_id"], bells["revision"].astype(int), strict=True)
    bells["code"] = [number[key] for key in keys]
    for column, rim in (("spun_z_mm", "blank_rim_mm"), ("trimmed_z_mm", "finished_rim_mm")):
        rows = zip(bells["code"].tolist(), bells[rim].tolist(), bells["wall_mm"].tolist(), strict=True)
        bells[column] = [rim_z(*row) for row in rows]
    return bells
