"""A mandrel's batches on one line of time: all of them, in order, each as high as its flare lies off the steel."""

from __future__ import annotations

from dataclasses import replace

import pytest

from springfit.bench.web.timeline import HIGH, WIDE, timeline_of
from springfit.records.book import Book
from springfit.records.reading import read_book
from tests.helpers.bench_page import bench_events as made


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    return read_book(made.small(tmp_path_factory.mktemp("small") / "book"))[0]


def test_every_batch_of_the_mandrel_stands_on_its_day(book: Book) -> None:
    line = timeline_of(book, "OAK", {"B3": "watch"})
    assert line is not None
    assert [(one.name, one.state) for one in line.batches] == [("B1", ""), ("B3", "watch")]
    assert [(one.name, one.day) for one in line.revisions] == [("1", "2025-05-01")]
    across = [line.batches[0].x, line.revisions[0].x, line.batches[1].x]
    assert across == sorted(across) and 0 < across[0] < across[-1] < WIDE
    assert all(0 < one.y < HIGH for one in line.batches)


def test_a_batch_further_off_the_steel_stands_higher(book: Book) -> None:
    read = book.measurements
    later = read["bell_id"].str.startswith("B3") & read["kind"].isin(("outside_diameter", "inside_diameter"))
    larger = replace(book, measurements=read.assign(value_mm=read["value_mm"].where(~later, read["value_mm"] + 0.5)))
    before, after = timeline_of(book, "OAK", {}), timeline_of(larger, "OAK", {})
    assert before is not None and after is not None
    assert after.batches[1].y < after.batches[0].y
    assert float(after.most) > float(before.most)


def test_without_a_reading_of_a_flare_there_is_no_picture(book: Book) -> None:
    assert timeline_of(replace(book, measurements=book.measurements.iloc[:0]), "OAK", {}) is None
    scans = replace(book, measurements=book.measurements.assign(datum="free"))
    assert timeline_of(scans, "OAK", {}) is None
