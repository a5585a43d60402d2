"""A sheet in the making as the tables of a record book, cells as they were typed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from springfit.bench.entry.bench_sheet import BenchSheet
from springfit.bench.entry.entry_place import Place, Taken, in_unit
from springfit.records.editing.cell_writing import csv_lines
from springfit.records.tables import TABLES

__all__ = ["sheet_files", "sheet_rows"]

Rows = dict[str, str]


def sheet_files(sheet: BenchSheet) -> dict[str, bytes]:
    """Name and text of each CSV file of the sheet; columns that no row fills are left out."""
    files = {}
    for table, rows in sheet_rows(sheet).items():
        if rows:
            header = [name for name in _order(table, sheet.unit) if any(row.get(name) for row in rows)]
            lines = [[row.get(name, "") for name in header] for row in rows]
            files[f"{table}.csv"] = csv_lines([header, *lines])
    return files


def sheet_rows(sheet: BenchSheet) -> dict[str, list[Rows]]:
    """The rows of each table that the sheet adds, by header in the sheet's unit."""
    return _ROWS[sheet.kind](sheet)


def _batch(sheet: BenchSheet) -> dict[str, list[Rows]]:
    batches = [] if sheet.known else [_row("batches", sheet, {"batch_id": sheet.subject}, sheet.cells)]
    bells = [
        _row("bells", sheet, {"bell_id": bell, "batch_id": sheet.subject}, {**cells, "note": _note(sheet, bell)})
        for bell, cells in sheet.bells.items()
        if "known" not in cells
    ]
    read = [_measurement(place, taken, sheet.unit) for place, taken in _values(sheet)]
    return {"batches": batches, "bells": bells, "measurements": read}


def _note(sheet: BenchSheet, bell: str) -> str | None:
    """The bell's note, with the doubts that were answered as it was measured."""
    stands = [
        f"{place.kind} at {place.fixed} {place.unit}"
        for place, taken in _values(sheet)
        if place.bell == bell and taken.answer == "stands"
    ]
    said = [sheet.bells[bell].get("note") or "", f"read again and stands: {', '.join(stands)}" if stands else ""]
    return "; ".join(part for part in said if part) or None


def _mandrel(sheet: BenchSheet) -> dict[str, list[Rows]]:
    revision = sheet.cells.get("revision") or "0"
    steel = _row("mandrels", sheet, {"mandrel_id": sheet.subject, "revision": revision}, sheet.cells)
    profile = [
        {"mandrel_id": sheet.subject, "revision": revision, **_station(place, taken, sheet.unit)}
        for place, taken in _by_station(_values(sheet))
    ]
    return {"mandrels": [steel], "mandrel_profile": profile}


def _target(sheet: BenchSheet) -> dict[str, list[Rows]]:
    target = _row("targets", sheet, {"target_id": sheet.subject}, sheet.cells)
    profile = [
        {"target_id": sheet.subject, **_station(place, taken, sheet.unit)}
        for place, taken in _by_station(_values(sheet))
    ]
    return {"targets": [target], "target_profile": profile}


def _gauge(sheet: BenchSheet) -> dict[str, list[Rows]]:
    return {"gauges": [_row("gauges", sheet, {"gauge_id": sheet.subject}, sheet.cells)]}


_ROWS = {"batch": _batch, "mandrel": _mandrel, "target": _target, "gauge": _gauge}


def _values(sheet: BenchSheet) -> list[tuple[Place, Taken]]:
    return [(place, taken) for place, taken in sheet.readings.items() if taken.outcome == "value"]


def _by_station(values: Iterable[tuple[Place, Taken]]) -> list[tuple[Place, Taken]]:
    return sorted(values, key=lambda pair: pair[0].fixed_mm)


def _measurement(place: Place, taken: Taken, unit: str) -> Rows:
    """One row of `measurements`; of a ring brought to rest the size was set and the station read."""
    fixed, read = in_unit(place.fixed, place.unit, unit), in_unit(taken.typed, taken.unit, unit)
    z, value = (read, fixed) if place.kind == "axial_at_diameter" else (fixed, read)
    return {
        "bell_id": place.bell, "stage": place.stage, "kind": place.kind, "datum": place.datum, f"z_{unit}": z,
        f"value_{unit}": value, "angle_deg": place.angle, "gauge_id": place.gauge,
    }  # fmt: skip


def _station(place: Place, taken: Taken, unit: str) -> Rows:
    return {
        f"z_{unit}": in_unit(place.fixed, place.unit, unit),
        f"diameter_{unit}": in_unit(taken.typed, taken.unit, unit),
    }


def _row(table: str, sheet: BenchSheet, keys: Rows, cells: Mapping[str, str | None]) -> Rows:
    """Keys and those cells that the table has columns for."""
    known = TABLES[table].by_name
    typed = {name: cell for name, cell in cells.items() if name in known and cell is not None and name not in keys}
    lengths = {name for name in typed if known[name].kind == "length"}
    return {**keys, **{f"{name}_{sheet.unit}" if name in lengths else name: cell for name, cell in typed.items()}}


def _order(table: str, unit: str) -> Sequence[str]:
    return [f"{one.name}_{unit}" if one.kind == "length" else one.name for one in TABLES[table].columns]
