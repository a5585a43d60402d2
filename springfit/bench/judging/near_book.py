"""The part of a book that bears on one sheet as it is typed: its steel, and the bells last read there in the same way.

A book of thousands of bells is not looked through for every value: its checks compare a reading with other bells of its
steel near its place, and the newest few say what is usual as well as all of them.
"""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from springfit.bench.entry.entry_place import Place
from springfit.records.book import Book

__all__ = ["near_book"]

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
    read = book.measurements[book.measurements["bell_id"].isin(bells["bell_id"])]
    read = read[(read["kind"] == place.kind) & (read["datum"] != "free")]
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


def _of_steel(frame: pd.DataFrame, mandrel_id: str, revision: int) -> pd.DataFrame:
    return frame[(frame["mandrel_id"] == mandrel_id) & (frame["revision"] == revision)]
