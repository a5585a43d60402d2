"""Faults of a way of working that the shop has given up: no reason any more to stop, or to leave a stretch unjudged."""

from __future__ import annotations

from dataclasses import replace

from springfit.decisions.evidence import Fault, MandrelEvidence
from springfit.records.book import Book
from springfit.records.conditions import Conditions

__all__ = ["without_given_up"]


def without_given_up(evidence: MandrelEvidence, book: Book, conditions: Conditions) -> MandrelEvidence:
    """The evidence without faults seen only in batches that the record says were passed back toward the tail, when the
    newest batch shows none of them and none is asked for; a note names them instead."""
    if conditions.back_passes != 0 or not evidence.latest_batches:
        return evidence
    recorded = book.batches[book.batches["back_passes"] > 0]["batch_id"]
    earlier = set(recorded) - {evidence.latest_batches[-1]}
    old = set(book.bells[book.bells["batch_id"].isin(earlier)]["bell_id"])
    given_up = tuple(fault for fault in evidence.faults if set(fault.bells) <= old)
    kept = tuple(fault for fault in evidence.faults if fault not in given_up)
    return replace(evidence, faults=kept, notes=(*evidence.notes, *map(_note, given_up)))


def _note(fault: Fault) -> str:
    names = sorted(fault.bells)
    bells = f"{names[0]} to {names[-1]}" if len(names) > 2 else ", ".join(names)
    return (
        f"Bells {bells} were passed back toward the tail and are {fault.reason.split(',')[0]} there; "
        "the newest batch was not, so this is not held against the steel or the process of now."
    )
