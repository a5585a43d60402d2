"""What `check` itself says of values that stand on a sheet: they are put into the book's tables, and those are looked
through by the functions that look through a whole book."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from springfit.bench.entry.bench_sheet import BenchSheet
from springfit.bench.entry.entry_place import Place, Taken
from springfit.bench.judging.near_book import near_book
from springfit.bench.judging.typed_readings import readings_of
from springfit.findings import Finding
from springfit.lengths import parse_length
from springfit.records.book import Book
from springfit.records.checks.mistakes import sheets_off_the_steel
from springfit.records.checks.rough_gaps import mandrel_profiles, rough_gaps
from springfit.records.checks.slips.reading_slips import reading_slips
from springfit.records.checks.unusual_sizes import odd_readings

FILE = "typed"


def checked(book: Book, sheet: BenchSheet, place: Place, steel: tuple[str, int]) -> list[Finding]:
    """What the checks say of the value at `place`, on the steel and the bells before that the bench looks at."""
    near = near_book(book, *steel, place, without=sheet.subject)
    rows = readings_of(sheet, place)
    whole = with_readings(book, near, sheet, rows)
    number = [there for there, _ in rows].index(place) + 1
    of = mandrel_profiles(whole)
    readings = rough_gaps(whole, of)
    own = readings[readings["bell_id"] == place.bell]
    off = [one for one in sheets_off_the_steel(whole, own, of, fewest=1) if one.subject == place.bell]
    slips = [] if off else reading_slips(whole, readings, of)
    alone = replace(whole, measurements=whole.measurements.query("source_file == @FILE and source_row == @number"))
    about = [one for one in slips if one.file == FILE and one.row == number]
    return [*off, *about, *odd_readings(alone)]


def with_readings(book: Book, near: Book, sheet: BenchSheet, rows: Sequence[tuple[Place, Taken]]) -> Book:
    """`near` with the batch and bell of the book, and a bell's readings as typed; row n of them is (FILE, n)."""
    bell = rows[0][0].bell
    batch = book.batches[book.batches["batch_id"] == sheet.subject][list(near.batches.columns)]
    own = book.bells[book.bells["bell_id"] == bell][list(near.bells.columns)]
    read = [_read(number, place, taken) for number, (place, taken) in enumerate(rows)]
    place, taken = rows[-1]
    swapped = place.kind == "axial_at_diameter"
    headers = dict(near.headers)
    headers[FILE, "value_mm"] = f"value_{place.unit if swapped else taken.unit}"
    headers[FILE, "z_mm"] = f"z_{taken.unit if swapped else place.unit}"
    return replace(
        near, headers=headers, batches=pd.concat([near.batches, batch], ignore_index=True),
        bells=pd.concat([near.bells, own], ignore_index=True), measurements=_with(near.measurements, read),
    )  # fmt: skip


def _read(number: int, place: Place, taken: Taken) -> dict[str, Any]:
    fixed, read = place.fixed_mm, parse_length(taken.typed, taken.unit)
    z, value = (read, fixed) if place.kind == "axial_at_diameter" else (fixed, read)
    return {
        "bell_id": place.bell, "stage": place.stage, "kind": place.kind, "datum": place.datum, "z_mm": z,
        "value_mm": value, "angle_deg": float(place.angle) if place.angle else np.nan,
        "gauge_id": place.gauge or None, "source_file": FILE, "source_row": number + 1,
    }  # fmt: skip


def _with(frame: pd.DataFrame, rows: Sequence[Mapping[str, Any]]) -> pd.DataFrame:
    """The frame with rows after it, its columns and their types kept."""
    columns = {name: pd.Series([row.get(name) for row in rows], dtype=frame[name].dtype) for name in frame.columns}
    return pd.concat([frame, pd.DataFrame(columns)], ignore_index=True)
