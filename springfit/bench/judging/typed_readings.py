"""What was typed of one bell in one way, as lengths and as places off the steel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.bench.entry.bench_sheet import BenchSheet
from springfit.bench.entry.entry_place import Place, Taken
from springfit.bench.judging.way_before import WayBefore
from springfit.findings import Finding
from springfit.lengths import from_mm, parse_length
from springfit.records.blank_cells import USUAL_WALL_MM, rim_at_stage
from springfit.records.checks.rough_gaps import best_fit_stations
from springfit.records.reading_kinds import DATUMS, FROM_THE_TAIL, KINDS, z_from_tail
from springfit.records.tables import TABLES

__all__ = ["BENCH", "NO_READINGS", "TypedReadings", "measured", "readings_of", "stated_sheet_wall", "typed_readings"]

Floats = NDArray[np.float64]

BENCH = "the bench"  # stands for the file of rows that are not in a file yet


@dataclass(frozen=True)
class TypedReadings:
    """Readings of one bell in one way, in the order they were typed, arrays (n,): `z` and `value` [mm] as a table has
    them, `station` on the steel and `gap` off it, normal [mm]. `wall`: of the bell, `crossed`: what of it lies between
    the steel and the surface that was read, `rim`: the rim's diameter [mm]. `fitted`: slid to its best fit."""

    z: Floats
    value: Floats
    station: Floats
    gap: Floats
    wall: float
    crossed: float
    rim: float
    fitted: bool


_NONE = np.empty(0)
NO_READINGS = TypedReadings(_NONE, _NONE, _NONE, _NONE, float("nan"), 0.0, float("nan"), fitted=False)


def readings_of(sheet: BenchSheet, place: Place) -> list[tuple[Place, Taken]]:
    """What stands on the sheet that was taken as at `place` on the same bell, in the order it was typed."""
    way = (place.bell, place.stage, place.kind, place.datum)
    return [
        (there, taken)
        for there, taken in sheet.readings.items()
        if taken.outcome == "value" and (there.bell, there.stage, there.kind, there.datum) == way
    ]


def measured(place: Place, taken: Taken) -> float | Finding:
    """The length that was read [mm]; the error of one that cannot be, as reading the book would say it."""
    swapped = place.kind == "axial_at_diameter"
    name = "z" if swapped else "value"
    column, header = TABLES["measurements"].by_name[name], f"{name}_{taken.unit}"
    try:
        value = parse_length(taken.typed, taken.unit)
    except ValueError as unfit:
        such = " or 2-3/8" if taken.unit == "in" else ""
        return Finding("error", BENCH, None, header, str(unfit), f"a number, such as 2.375{such}")
    low, high = column.low, column.high
    if not swapped:
        low = 0.0 if place.kind == "clearance" else float(np.nextafter(0.0, 1.0))
    if (low is not None and value < low) or (high is not None and value > high):
        bounds = f"{from_mm(low or 0.0, taken.unit):.6g} to {from_mm(high or 0.0, taken.unit):.6g} {taken.unit}"
        return Finding("error", BENCH, None, header, f"found {taken.typed}", bounds, "read it again")
    return value


def stated_sheet_wall(before: WayBefore, sheet: BenchSheet, bell: str) -> float:
    """The wall of the bell [mm], else that of its batch's sheet, as far as one is written down; nan where none is."""
    typed = (_typed(cells, "wall", sheet.unit) for cells in (sheet.bells.get(bell, {}), sheet.cells))
    said = (*typed, before.walls.get(bell, np.nan), before.batch.get("wall_mm", np.nan))
    return next((wall for wall in said if not np.isnan(wall)), float("nan"))


def typed_readings(
    before: WayBefore, sheet: BenchSheet, places: Sequence[Place], lengths: Sequence[float]
) -> TypedReadings:
    """Readings at `places` of one bell, taken in one way, on the steel; their `lengths` read [mm]."""
    first, read = places[0], np.array(lengths)
    fixed = np.array([place.fixed_mm for place in places])
    z, value = (read, fixed) if first.kind == "axial_at_diameter" else (fixed, read)
    wall = stated_sheet_wall(before, sheet, first.bell)
    wall = USUAL_WALL_MM if np.isnan(wall) else wall
    if not KINDS[first.kind].diameter:
        station = z if first.datum in FROM_THE_TAIL else np.full(len(z), np.nan)
        return TypedReadings(z, value, station, value, wall, 0.0, float("nan"), fitted=False)
    crossed = wall if KINDS[first.kind].through_wall else 0.0
    blank, finished = (_batch_size(before, sheet, name) for name in ("blank_rim", "finished_rim"))
    rim = float(rim_at_stage(first.stage, blank, finished))
    rim_z = before.steel.rim_station(rim, wall) if first.datum == "rim" else float("nan")
    tied = DATUMS[first.datum].tied and not (first.datum == "rim" and np.isnan(rim_z))
    if tied:
        station = z_from_tail(first.datum, z, rim_z)
    else:
        scan = pd.DataFrame({"z_mm": z, "value_mm": value, "wall_crossed_mm": crossed, "datum": first.datum})
        station = best_fit_stations(scan, before.steel)
    gap = before.steel.normal_distance(station, value, np.full(len(z), crossed))
    return TypedReadings(z, value, station, gap, wall, crossed, rim, fitted=not tied)


def _batch_size(before: WayBefore, sheet: BenchSheet, name: str) -> float:
    typed = _typed(sheet.cells, name, sheet.unit)
    return before.batch.get(f"{name}_mm", float("nan")) if np.isnan(typed) else typed


def _typed(cells: Mapping[str, str | None], name: str, unit: str) -> float:
    """A length among typed cells [mm]; nan without one, and for one that is no number: that is the book's to say."""
    cell = cells.get(name)
    try:
        return float("nan") if cell is None else parse_length(cell, unit)
    except ValueError:
        return float("nan")
