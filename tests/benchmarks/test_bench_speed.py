"""How long a value typed at the bench takes to be written and judged, on the demo book and on one of 600 000 readings.

The readings of sound batches are typed again, one after the other, as at the lathe. Time of the processor is counted:
it is what the program takes, whatever else the machine does.
"""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from springfit.bench.entry.desk import Desk
from springfit.bench.entry.entry_place import Place
from springfit.bench.judging.judge import Judge
from springfit.demo.locate import demo_folder
from springfit.lengths import from_mm
from springfit.records.book import Book
from springfit.records.reading import read_book
from tests.helpers.bench_page import bench_events as made

DEMO_SECONDS, LARGE_SECONDS = 0.030, 0.030  # of 0.100 and 0.150 that an answer may take: the rest is the way to it
LARGE = 600_000  # readings
VALUES = 160


def typed_again(book: Book, values: int) -> list[tuple[str, pd.DataFrame]]:
    """The readings of some batches, (batch, rows): the newest of each mandrel, `values` in all."""
    newest = book.batches.sort_values("spun_on").groupby("mandrel_id")["batch_id"].last()
    sheets = []
    for batch in newest:
        bell = book.bells.loc[book.bells["batch_id"] == batch, "bell_id"].iloc[0]
        rows = book.measurements[(book.measurements["bell_id"] == bell) & (book.measurements["datum"] != "free")]
        sheets.append((str(batch), rows.head(values // len(newest) + 1)))
    return sheets


def seconds_of_each(book: Book, folder: Path, values: int) -> np.ndarray:
    """Processor time [s] of writing and judging each value."""
    desk, judge, taken = Desk(folder), Judge(lambda: book), []
    for number, (batch, rows) in enumerate(typed_again(book, values)):
        name = f"sheet{number:04d}"
        desk.take(name, {**made.start(batch, known=True), "cells": {}})
        for row in rows.itertuples():
            ring = row.kind == "axial_at_diameter"
            fixed, read = (row.value_mm, row.z_mm) if ring else (row.z_mm, row.value_mm)
            angle = "" if np.isnan(float(row.angle_deg)) else f"{row.angle_deg:g}"  # type: ignore[arg-type]
            place = Place(
                str(row.bell_id), str(row.stage), str(row.kind), str(row.datum), f"{from_mm(float(fixed), 'in'):.6g}",
                "in", angle, str(row.gauge_id),
            )  # fmt: skip
            begin = time.process_time()
            sheet = desk.take(name, made.reading(place, f"{from_mm(float(read), 'in'):.6g}"))
            judge.judged(sheet, place)
            taken.append(time.process_time() - begin)
    return np.array(taken)


def large(book: Book) -> Book:
    """The demo book over and over, its batches and bells under names of their own, to 600 000 readings."""
    times = -(-LARGE // len(book.measurements))

    def many(frame: pd.DataFrame, *names: str) -> pd.DataFrame:
        copies = [frame.assign(**{name: frame[name] + f"-{n}" for name in names}) for n in range(times)]
        return pd.concat(copies, ignore_index=True)

    parts = {
        "batches": many(book.batches, "batch_id"), "bells": many(book.bells, "bell_id", "batch_id"),
        "measurements": many(book.measurements, "bell_id"),
    }  # fmt: skip
    return Book(**{**{name: getattr(book, name) for name in book.__dataclass_fields__}, **parts})


@pytest.mark.benchmark
@pytest.mark.parametrize(("size", "most"), [("demo", DEMO_SECONDS), ("large", LARGE_SECONDS)])
def test_a_value_is_judged_before_the_next_is_read(size: str, most: float, tmp_path: Path) -> None:
    book = read_book(demo_folder() / "demo-shop")[0]
    whole = book if size == "demo" else large(book)
    seconds = seconds_of_each(whole, tmp_path, VALUES)
    worst = float(np.quantile(seconds, 0.95))
    half, slowest = 1000 * np.median(seconds), 1000 * seconds.max()
    print(
        f"{size}, {len(whole.measurements)} readings: {len(seconds)} values judged, half within {half:.0f} ms, "
        f"95 % within {1000 * worst:.0f} ms, the slowest {slowest:.0f} ms"
    )
    assert worst <= most
