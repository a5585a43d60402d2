"""Faults of a way of working that the shop has given up: no reason any more to stop, or to leave a stretch unjudged."""

from __future__ import annotations

from dataclasses import replace

from springfit.decisions.evidence import MandrelEvidence
from springfit.records.book import Book
from springfit.records.conditions import Conditions

__all__ = ["without_discontinued"]


def without_discontinued(evidence: MandrelEvidence, book: Book, conditions: Conditions) -> MandrelEvidence:
    """The evidence without faults seen only in batches that the record says were passed back toward the tail, when the
    newest batch shows none of them and none is asked for; those are its `discontinued`."""
    if conditions.back_passes != 0 or not evidence.latest_batches:
        return evidence
    recorded = book.batches[book.batches["back_passes"] > 0]["batch_id"]
    earlier = set(recorded) - {evidence.latest_batches[-1]}
    old = set(book.bells[book.bells["batch_id"].isin(earlier)]["bell_id"])
    discontinued = tuple(fault for fault in evidence.faults if set(fault.bells) <= old)
    kept = tuple(fault for fault in evidence.faults if fault not in discontinued)
    return replace(evidence, faults=kept, discontinued=discontinued)
