"""The book without the single readings and sizes that are in doubt: what is learned from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import pandas as pd

from springfit.findings import Finding
from springfit.records.book import Book
from springfit.records.tables import FEWEST_STATIONS

__all__ = ["without_doubted_rows"]


def without_doubted_rows(book: Book, findings: Iterable[Finding]) -> Book:
    """The book without the rows that doubts set aside; a mandrel keeps all its sizes where too few would be left."""
    aside = {(f.file, f.row) for f in findings if f.sets_row_aside}
    if not aside:
        return book
    readings, sizes = _kept(book.measurements, aside), _kept(book.mandrel_profile, aside)
    by = ["mandrel_id", "revision"]
    left = sizes.groupby(by)["z_mm"].transform("size")
    if (left < FEWEST_STATIONS).any() or sizes.groupby(by).ngroups < book.mandrel_profile.groupby(by).ngroups:
        sizes = book.mandrel_profile
    return replace(book, measurements=readings, mandrel_profile=sizes)


def _kept(frame: pd.DataFrame, aside: set[tuple[str, int | None]]) -> pd.DataFrame:
    places = zip(frame["source_file"], frame["source_row"].astype(int), strict=True)
    return frame[[place not in aside for place in places]]
