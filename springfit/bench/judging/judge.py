"""Judges values for every sheet in the making, keeping the part of the book that each needs."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable

import pandas as pd

from springfit.bench.entry.bench_sheet import BenchSheet
from springfit.bench.entry.entry_place import Place
from springfit.bench.judging.as_typed import Judged, judged
from springfit.bench.judging.curve import bells_before
from springfit.bench.judging.near_book import near_book
from springfit.records.book import Book, revision_on

__all__ = ["Judge", "steel_of"]

_KEPT = 24  # parts of a book: a few tablets with a few ways of measuring each
Key = tuple[str, str, int, str, str, str, str]


class Judge:
    """Says of a value on a sheet what the book's checks say; `book` gives the book as last read, None without one."""

    def __init__(self, book: Callable[[], Book | None]) -> None:
        self._book = book
        self._near: OrderedDict[Key, Book] = OrderedDict()
        self._guard = threading.Lock()

    def judged(self, sheet: BenchSheet, place: Place) -> Judged:
        """What is said of the value at `place`; nothing where the book knows no steel for it."""
        book = self._book()
        steel = None if book is None else steel_of(book, sheet)
        if book is None or steel is None or sheet.kind != "batch":
            return Judged()
        near = self._of(book, sheet, place, steel)
        return judged(near, sheet, place, mandrel_id=steel[0], revision=steel[1])

    def curve(self, sheet: BenchSheet, place: Place) -> list[tuple[float, float, float]]:
        """The bells before, as `bells_before` has them."""
        book = self._book()
        steel = None if book is None else steel_of(book, sheet)
        if book is None or steel is None or sheet.kind != "batch":
            return []
        return bells_before(self._of(book, sheet, place, steel), place)

    def _of(self, book: Book, sheet: BenchSheet, place: Place, steel: tuple[str, int]) -> Book:
        key = (book.digest, *steel, place.kind, place.stage, place.datum, sheet.subject)
        with self._guard:
            if key not in self._near:
                self._near[key] = near_book(book, *steel, place, without=sheet.subject)
                while len(self._near) > _KEPT:
                    self._near.popitem(last=False)
            self._near.move_to_end(key)
            return self._near[key]


def steel_of(book: Book, sheet: BenchSheet) -> tuple[str, int] | None:
    """Mandrel and revision that the sheet's batch was spun on; None where the book does not know them."""
    if sheet.known:
        rows = book.batches[book.batches["batch_id"] == sheet.subject]
        if not len(rows):
            return None
        return str(rows["mandrel_id"].iloc[0]), int(rows["revision"].iloc[0])
    mandrel, day = sheet.cells.get("mandrel_id"), sheet.cells.get("spun_on")
    if not mandrel or not day:
        return None
    try:
        revision = revision_on(book.mandrels, mandrel, pd.Timestamp(day))
    except ValueError:
        return None
    return None if revision is None else (mandrel, revision)
