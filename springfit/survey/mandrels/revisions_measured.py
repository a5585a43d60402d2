"""The revisions of a mandrel in a book that its copy is made from: those since the last recut, bells counted."""

from __future__ import annotations

import numpy as np
import pandas as pd

from springfit.findings import BookError, Finding
from springfit.records.book import Book
from springfit.records.rules.revisions import is_plated
from springfit.survey.mandrels.copying import Measured

__all__ = ["revisions_measured"]

RECUT_WORDS = ("recut", "re-cut", "turned down", "skimmed")  # in the note of a revision that is another line
RECUT_MM = 0.15  # [mm] normal change in the middle of a line: more than wear or plating ever does


def revisions_measured(book: Book, mandrel_id: str) -> tuple[Measured, ...]:
    """The measured revisions in their order since the last recut.

    Raises BookError for a mandrel that the book does not have.
    """
    rows = book.mandrels[book.mandrels["mandrel_id"] == mandrel_id].sort_values("revision")
    if not len(rows):
        known = ", ".join(sorted(map(str, book.mandrels["mandrel_id"].dropna().unique())))
        raise BookError(
            [
                Finding(
                    "error", "mandrels", None, "mandrel_id", f"no mandrel {mandrel_id!r}", f"one of: {known}"
                )
            ]
        )
    kept: list[Measured] = []
    spun_before = 0
    for _, row in rows.iterrows():
        bells = _bells_before(book, mandrel_id, row["in_force_from"])
        z, diameter = book.profile(mandrel_id, int(row["revision"]))
        if kept and (_says_recut(row["note"]) or _is_another_line(kept[-1], z, diameter)):
            kept, spun_before = [], bells
        plated = is_plated(row["finish"])
        kept.append(Measured(f"revision {int(row['revision'])}", z, diameter, bells - spun_before, plated))
    return tuple(kept)


def _bells_before(book: Book, mandrel_id: str, day: pd.Timestamp) -> int:
    """Bells of batches spun on the mandrel before that day; the highest order in a batch where that is more."""
    batches = book.batches[(book.batches["mandrel_id"] == mandrel_id) & (book.batches["spun_on"] < day)]
    bells = book.bells[book.bells["batch_id"].isin(batches["batch_id"])]
    per_batch = bells.groupby("batch_id")["order_in_batch"].agg(["size", "max"]).max(axis=1)
    return int(np.nansum(per_batch.to_numpy(float)))


def _says_recut(note: object) -> bool:
    return isinstance(note, str) and any(word in note.lower() for word in RECUT_WORDS)


def _is_another_line(before: Measured, z: np.ndarray, diameter: np.ndarray) -> bool:
    """Whether the middle of the line changed by more than wear and plating do."""
    common = z[(z >= before.z[0]) & (z <= before.z[-1])]
    if not common.size:
        return True
    radius = np.interp(common, z, diameter / 2) - np.interp(common, before.z, before.diameter / 2)
    slope = np.arctan(np.gradient(np.interp(common, z, diameter / 2), common))
    return bool(np.median(np.abs(radius * np.cos(slope))) > RECUT_MM)
