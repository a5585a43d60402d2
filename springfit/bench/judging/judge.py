"""Judges values for every sheet in the making, keeping what does not change while one way of measuring is gone through.

What is kept stands under the digest of the book that it was worked out from: a book that changed is looked at anew.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable

import pandas as pd

from springfit.bench.entry.bench_sheet import BenchSheet
from springfit.bench.entry.entry_place import Place
from springfit.bench.judging.as_typed import Dot, Judged, dots_of, judged
from springfit.bench.judging.curve import bells_before
from springfit.bench.judging.way_before import WayBefore, way_before
from springfit.records.book import Book, revision_on
from springfit.records.reading_kinds import KINDS

__all__ = ["Judge", "steel_of"]

_KEPT = 24  # ways of measuring: a few tablets with a few ways each
Key = tuple[str, ...]


class Judge:
    """Says of a value on a sheet what the book's checks say; `book` gives the book as last read, None without one."""

    def __init__(self, book: Callable[[], Book | None]) -> None:
        self._book = book
        self._before: OrderedDict[Key, WayBefore | None] = OrderedDict()
        self._guard = threading.Lock()

    def judged(self, sheet: BenchSheet, place: Place) -> Judged:
        """What is said of the value at `place`; nothing where the book knows no steel for it."""
        before = self._of(sheet, place)
        return Judged() if before is None else judged(before, sheet, place)

    def curve(self, sheet: BenchSheet, place: Place) -> list[tuple[float, float, float]]:
        """The bells before, as `bells_before` has them."""
        before = self._of(sheet, place)
        return [] if before is None else bells_before(before)

    def dots(self, sheet: BenchSheet, place: Place, most: int) -> list[Dot]:
        """The dots of the newest values of the bell taken as at `place`, `most` of them."""
        before = self._of(sheet, place)
        return [] if before is None else dots_of(before, sheet, place, most)

    def _of(self, sheet: BenchSheet, place: Place) -> WayBefore | None:
        """What is known before; None for what is no reading of a bell on steel that the book knows."""
        book = self._book()
        if book is None or sheet.kind != "batch" or place.kind not in KINDS:
            return None
        spun = (str(sheet.known), sheet.subject, *(sheet.cells.get(name) or "" for name in ("mandrel_id", "spun_on")))
        key = (book.digest, *spun, place.kind, place.stage, place.datum)
        with self._guard:
            if key not in self._before:
                steel = steel_of(book, sheet)
                self._before[key] = None if steel is None else way_before(book, *steel, place, sheet.subject)
                while len(self._before) > _KEPT:
                    self._before.popitem(last=False)
            self._before.move_to_end(key)
            return self._before[key]


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
