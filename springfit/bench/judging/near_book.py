"""The part of a book that bears on one sheet as it is typed: its steel, and the bells last read there in the same way.

A book of thousands of bells is not looked through for every value: its checks compare a reading with other bells of its
steel near its place, and the newest few say what is usual as well as all of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from springfit.bench.entry.bench_sheet import BenchSheet
from springfit.bench.entry.entry_place import Place, Taken
from springfit.lengths import parse_length
from springfit.records.book import Book
from springfit.records.tables import TABLES

__all__ = ["BENCH", "near_book", "readings_of", "with_readings"]

BENCH = "the bench"  # stands for the file of rows that are not in a file yet
_NEWEST_BELLS = 6  # of other bells: three make a median, and some lie a mark apart
# What the checks of a reading look at: frames of few columns are joined and looked up in a part of the time.
_OF_BATCH = [
    "batch_id", "mandrel_id", "revision", "wall_mm", "blank_rim_mm", "finished_rim_mm", "source_file", "source_row",
]  # fmt: skip
_OF_BELL = ["bell_id", "batch_id", "wall_mm", "witness_z_mm", "source_file", "source_row"]
_MOST_READINGS = 300  # of theirs: what can be looked over within the time of a tap


def near_book(book: Book, mandrel_id: str, revision: int, place: Place, *, without: str = "") -> Book:
    """The book of one steel, with the newest bells read as at `place`; the batch `without` is left out."""
    batches = book.batches[(book.batches["mandrel_id"] == mandrel_id) & (book.batches["revision"] == revision)]
    batches = batches[batches["batch_id"] != without].sort_values("spun_on", kind="stable")
    bells = book.bells[book.bells["batch_id"].isin(batches["batch_id"])]
    read = book.measurements
    read = read[(read["kind"] == place.kind) & read["bell_id"].isin(bells["bell_id"]) & (read["datum"] != "free")]
    alike = read[(read["stage"] == place.stage) & (read["datum"] == place.datum)]
    read = alike if len(alike) else read
    day = dict(zip(batches["batch_id"], range(len(batches)), strict=True))
    of_day = dict(zip(bells["bell_id"], bells["batch_id"].map(day), strict=True))
    newest = sorted(set(read["bell_id"]), key=lambda bell: of_day[bell])[-_NEWEST_BELLS:]
    read = read[read["bell_id"].isin(newest)]
    read = read.iloc[:: max(1, -(-len(read) // _MOST_READINGS))].reset_index(drop=True)
    bells = bells.loc[bells["bell_id"].isin(newest), _OF_BELL].reset_index(drop=True)
    batches = batches.loc[batches["batch_id"].isin(bells["batch_id"]), _OF_BATCH]
    return replace(
        book, measurements=read, bells=bells, batches=batches,
        mandrels=_of_steel(book.mandrels, mandrel_id, revision),
        mandrel_profile=_of_steel(book.mandrel_profile, mandrel_id, revision),
    )  # fmt: skip


def readings_of(sheet: BenchSheet, place: Place) -> list[tuple[Place, Taken]]:
    """What stands on the sheet that was taken as at `place` on the same bell, in the order it was typed."""
    way = (place.bell, place.stage, place.kind, place.datum)
    return [
        (there, taken)
        for there, taken in sheet.readings.items()
        if taken.outcome == "value" and (there.bell, there.stage, there.kind, there.datum) == way
    ]


def with_readings(
    near: Book, sheet: BenchSheet, rows: Sequence[tuple[Place, Taken]], *, mandrel_id: str, revision: int
) -> Book:
    """`near` with a bell's readings as typed; row n of theirs is (BENCH, n + 1). ValueError for what is no number."""
    bell = rows[0][0].bell
    batch = {"batch_id": sheet.subject, "mandrel_id": mandrel_id, "revision": float(revision)}
    batch |= _lengths("batches", sheet.cells, sheet.unit)
    own = {"bell_id": bell, "batch_id": sheet.subject, **_lengths("bells", sheet.bells.get(bell, {}), sheet.unit)}
    read = [_read(number, place, taken) for number, (place, taken) in enumerate(rows)]
    headers = dict(near.headers)
    place, taken = rows[-1]
    swapped = place.kind == "axial_at_diameter"
    headers[BENCH, "value_mm"] = f"value_{place.unit if swapped else taken.unit}"
    headers[BENCH, "z_mm"] = f"z_{taken.unit if swapped else place.unit}"
    return replace(
        near, headers=headers, batches=_with(near.batches, [batch]), bells=_with(near.bells, [own]),
        measurements=_with(near.measurements, read),
    )  # fmt: skip


def _read(number: int, place: Place, taken: Taken) -> dict[str, Any]:
    fixed, read = place.fixed_mm, parse_length(taken.typed, taken.unit)
    z, value = (read, fixed) if place.kind == "axial_at_diameter" else (fixed, read)
    return {
        "bell_id": place.bell, "stage": place.stage, "kind": place.kind, "datum": place.datum, "z_mm": z,
        "value_mm": value, "angle_deg": float(place.angle) if place.angle else np.nan,
        "gauge_id": place.gauge or None, "source_file": BENCH, "source_row": number + 1,
    }  # fmt: skip


def _lengths(table: str, cells: Mapping[str, str | None], unit: str) -> dict[str, float]:
    """The lengths among typed cells [mm]; those that are no numbers are left to the book's own check."""
    found = {}
    for name, cell in cells.items():
        column = TABLES[table].by_name.get(name)
        if cell is None or column is None or column.kind != "length":
            continue
        try:
            found[column.frame_name] = parse_length(cell, unit)
        except ValueError:
            continue
    return found


def _with(frame: pd.DataFrame, rows: Sequence[Mapping[str, Any]]) -> pd.DataFrame:
    """The frame with rows after it, its columns and their types kept."""
    added = pd.DataFrame({name: _column([row.get(name) for row in rows], frame[name].dtype) for name in frame.columns})
    return pd.concat([frame, added], ignore_index=True) if len(frame) else added


def _column(values: list[Any], kind: Any) -> pd.Series:
    """The values as a column of that kind; as they come where they do not fit it."""
    try:
        return pd.Series(values, dtype=kind)
    except (TypeError, ValueError):
        return pd.Series(values)


def _of_steel(frame: pd.DataFrame, mandrel_id: str, revision: int) -> pd.DataFrame:
    return frame[(frame["mandrel_id"] == mandrel_id) & (frame["revision"] == revision)]
