"""The bench judges a value by columns that it keeps, `check` by tables: both say the same of the same value."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from springfit.bench.entry.bench_sheet import BenchSheet, applied
from springfit.bench.entry.entry_place import Place
from springfit.bench.judging.judge import Judge, steel_of
from springfit.demo.locate import demo_folder
from springfit.lengths import from_mm
from springfit.records.book import Book
from springfit.records.reading import read_book
from tests.helpers.bench_page import bench_events as made
from tests.helpers.bench_page.bench_frames import checked

# What is typed instead of a reading.
SLIPS = (lambda size: size + 0.8, lambda size: 1.02 * size, lambda size: size / 2.2)
KINDS = ("outside_diameter", "axial_at_diameter", "clearance", "wall", "inside_diameter")
EVERY, OF_WALLS = 7, 2  # one value in so many is typed wrong: of a bell few walls are read


@pytest.fixture(scope="module")
def book() -> Book:
    return read_book(demo_folder() / "demo-shop")[0]


def sheets_of(book: Book, kind: str) -> list[tuple[str, pd.DataFrame]]:
    """(batch, readings): for each mandrel the newest bell read in that way."""
    read = book.measurements[(book.measurements["kind"] == kind) & (book.measurements["datum"] != "free")]
    bells = book.bells.merge(book.batches[["batch_id", "mandrel_id", "spun_on"]], on="batch_id")
    bells = bells[bells["bell_id"].isin(read["bell_id"])].sort_values("spun_on", kind="stable")
    return [
        (str(one.batch_id), read[read["bell_id"] == one.bell_id])
        for one in bells.groupby("mandrel_id").tail(1).itertuples()
    ]


def typed(rows: pd.DataFrame, *, spoil: float, slips: bool = True) -> Iterator[tuple[Place, str]]:
    """Places and what is typed there [in]: some of them wrong, and all so many times as large as read."""
    for number, row in enumerate(rows.itertuples()):
        ring = row.kind == "axial_at_diameter"
        fixed, read = (row.value_mm, row.z_mm) if ring else (row.z_mm, row.value_mm)
        size = float(read) * spoil
        every = OF_WALLS if row.kind == "wall" else EVERY
        if slips and number % every == every - 1:
            size = SLIPS[(number // every) % len(SLIPS)](size)
        angle = "" if np.isnan(float(row.angle_deg)) else f"{row.angle_deg:g}"  # type: ignore[arg-type]
        way = (str(row.bell_id), str(row.stage), str(row.kind), str(row.datum))
        place = Place(*way, f"{from_mm(float(fixed), 'in'):.6g}", "in", angle, str(row.gauge_id))
        yield place, f"{from_mm(size, 'in'):.5f}"


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_is_said_of_every_value(book: Book, kind: str) -> None:
    said = _compared(book, kind, spoil=1.0, most=22)
    assert kind not in ("outside_diameter", "axial_at_diameter", "wall") or any(said), "a planted slip is said"


def test_the_same_is_said_of_a_bell_typed_in_radii(book: Book) -> None:
    assert all(_compared(book, "outside_diameter", spoil=0.5, most=6))


@pytest.mark.parametrize("size", [1.5, 0.3])
def test_the_same_is_said_of_a_slip_on_a_ring_near_the_rim(book: Book, size: float) -> None:
    batch, rows = next(
        (batch, rows) for batch, rows in sheets_of(book, "outside_diameter") if rows["z_mm"].duplicated().any()
    )
    pairs = rows[rows["z_mm"].isin(rows["z_mm"].value_counts()[lambda count: count > 1].index)].sort_values("z_mm")
    spoilt = pairs.copy()
    spoilt.iloc[-1, spoilt.columns.get_loc("value_mm")] += size
    judge, said = Judge(lambda: book), []
    sheet = applied(BenchSheet("sheet0001"), {**made.start(batch, known=True), "cells": {}})
    steel = steel_of(book, sheet)
    assert steel is not None
    for place, text in typed(spoilt, spoil=1.0, slips=False):
        sheet = applied(sheet, made.reading(place, text))
        said = [one.what for one in judge.judged(sheet, place).findings]
    assert said == [one.what for one in checked(book, sheet, place, steel)] != []


def _compared(book: Book, kind: str, *, spoil: float, most: int) -> list[int]:
    """Counts of what was said of each value, the same by both."""
    judge, counts = Judge(lambda: book), []
    for number, (batch, rows) in enumerate(sheets_of(book, kind)[:2]):
        sheet = applied(BenchSheet(f"sheet{number:04d}"), {**made.start(batch, known=True), "cells": {}})
        steel = steel_of(book, sheet)
        assert steel is not None
        for place, text in typed(rows.head(most), spoil=spoil):
            sheet = applied(sheet, made.reading(place, text))
            quick, whole = judge.judged(sheet, place).findings, checked(book, sheet, place, steel)
            assert [(one.what, one.expected, one.remedy) for one in quick] == [
                (one.what, one.expected, one.remedy) for one in whole
            ]
            assert [(one.sets_aside, one.sets_row_aside) for one in quick] == [
                (one.sets_aside, one.sets_row_aside) for one in whole
            ]
            counts.append(len(quick))
    return counts


def test_a_book_that_changed_is_looked_at_anew(book: Book) -> None:
    larger = replace(book, digest="another", measurements=book.measurements.assign(
        value_mm=book.measurements["value_mm"] * 1.01
    ))  # fmt: skip
    shown = [book]
    judge = Judge(lambda: shown[-1])
    batch, rows = sheets_of(book, "outside_diameter")[0]
    sheet = applied(BenchSheet("sheet0001"), {**made.start(batch, known=True), "cells": {}})
    place, text = next(typed(rows, spoil=1.0))
    sheet = applied(sheet, made.reading(place, text))
    before = judge.curve(sheet, place)
    shown.append(larger)
    assert judge.curve(sheet, place) == Judge(lambda: larger).curve(sheet, place) != before


def test_the_second_wrong_wall_is_doubted_as_the_first(tmp_path: Path) -> None:
    small = read_book(made.small(tmp_path / "book"))[0]
    sheet = applied(BenchSheet("sheet0001"), made.start())
    judge = Judge(lambda: small)
    for z in ("200", "220"):
        place = made.place(fixed=z, kind="wall")
        sheet = applied(sheet, made.reading(place, "0.049"))
        assert len(judge.judged(sheet, place).findings) == 1
