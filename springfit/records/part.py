"""A part of a book: some of its batches with all that belongs to them, and what each batch's records say as a hash."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable
from dataclasses import replace
from typing import TypeVar

import pandas as pd

from springfit.records.book import Book
from springfit.records.digest import canonical_rows
from springfit.records.tables import TABLES

__all__ = ["batch_digests", "part_of"]

Key = TypeVar("Key")


def part_of(book: Book, batches: Collection[str]) -> Book:
    """The book with only these `batches`, their bells and readings, the steel they were spun on and the gauges used.

    It keeps the digest of the whole book and has no targets or specimens.
    """
    kept = book.batches[book.batches["batch_id"].isin(batches)]
    bells = book.bells[book.bells["batch_id"].isin(batches)]
    readings = book.measurements[book.measurements["bell_id"].isin(bells["bell_id"])]
    steel = pd.MultiIndex.from_frame(kept[["mandrel_id", "revision"]])
    return replace(
        book,
        batches=kept,
        bells=bells,
        measurements=readings,
        mandrels=_of_steel(book.mandrels, steel),
        mandrel_profile=_of_steel(book.mandrel_profile, steel),
        gauges=book.gauges[book.gauges["gauge_id"].isin(readings["gauge_id"].unique())],
        targets=book.targets[:0], target_profile=book.target_profile[:0],
        specimens=book.specimens[:0], specimen_points=book.specimen_points[:0],
    )  # fmt: skip


def batch_digests(book: Book, doubted: Collection[str] = ()) -> dict[str, str]:
    """SHA-256 by batch, for those with a reading: its row, its bells and which of them are `doubted`, their readings,
    its steel, the gauges used.

    The same for any order of rows and any formatting; new revisions, targets and other batches do not enter.
    """
    batch_of = dict(zip(book.bells["bell_id"], book.bells["batch_id"], strict=True))
    read_batch = [batch_of[bell] for bell in book.measurements["bell_id"]]
    readings = _grouped(read_batch, canonical_rows(book.measurements, TABLES["measurements"]))
    bells = _grouped(book.bells["batch_id"], canonical_rows(book.bells, TABLES["bells"]))
    doubts = {bell for bell in doubted if bell in batch_of}
    doubtful = _grouped((batch_of[bell] for bell in doubts), [repr(bell) for bell in doubts])
    gauges = _grouped(book.gauges["gauge_id"], canonical_rows(book.gauges, TABLES["gauges"]))
    mandrels = _grouped(_steel(book.mandrels), canonical_rows(book.mandrels, TABLES["mandrels"]))
    profiles = _grouped(
        _steel(book.mandrel_profile), canonical_rows(book.mandrel_profile, TABLES["mandrel_profile"])
    )
    used = book.measurements["gauge_id"].groupby(read_batch).unique()
    digests = {}
    rows = canonical_rows(book.batches, TABLES["batches"])
    for batch, steel, row in zip(book.batches["batch_id"], _steel(book.batches), rows, strict=True):
        if batch in readings:
            of_gauges = [line for gauge in sorted(used[batch]) for line in gauges[gauge]]
            of_bells = (bells[batch], doubtful.get(batch, []), readings[batch])
            digests[str(batch)] = _digest(([row], *of_bells, mandrels[steel], profiles[steel], of_gauges))
    return digests


def _steel(frame: pd.DataFrame) -> list[tuple[str, int]]:
    return list(zip(frame["mandrel_id"], frame["revision"].astype(int), strict=True))


def _of_steel(frame: pd.DataFrame, steel: pd.MultiIndex) -> pd.DataFrame:
    return frame[pd.MultiIndex.from_frame(frame[["mandrel_id", "revision"]]).isin(steel)]


def _grouped(keys: Iterable[Key], rows: list[str]) -> dict[Key, list[str]]:
    groups: dict[Key, list[str]] = {}
    for key, row in zip(keys, rows, strict=True):
        groups.setdefault(key, []).append(row)
    return groups


def _digest(parts: Iterable[list[str]]) -> str:
    whole = hashlib.sha256()
    for rows in parts:
        whole.update(f"{len(rows)}\n".encode())
        whole.update("\n".join(sorted(rows)).encode())
    return whole.hexdigest()
