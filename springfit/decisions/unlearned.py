"""What a model has not learned of the book it is asked about: no steel is cut before it has."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from springfit.findings import Finding
from springfit.learning.model import SpringModel
from springfit.records.answers import require_answered
from springfit.records.book import Book
from springfit.records.part import batch_digests

__all__ = ["ALL_LEARNED", "Unlearned", "learned_by", "mandrel_of", "measured_batches", "require_askable", "unlearned"]


@dataclass(frozen=True)
class Unlearned:
    """Measured batches of the book that a model has not learned, or not as they now stand: `own` of the mandrel asked
    about, `others`. foreign: it learned of batches, and the book has none of them."""

    own: tuple[str, ...] = ()
    others: tuple[str, ...] = ()
    foreign: bool = False

    def __bool__(self) -> bool:
        return bool(self.own or self.others)


ALL_LEARNED = Unlearned()


def unlearned(book: Book, measured: Mapping[str, str], learned: Mapping[str, str], mandrel_id: str = "") -> Unlearned:
    """Compare a book's `measured` batches with those a model has `learned`, both by id with what their records say."""
    new = [batch for batch, digest in measured.items() if learned.get(batch) != digest]
    mandrel_of = dict(zip(book.batches["batch_id"].astype(str), book.batches["mandrel_id"].astype(str), strict=True))
    own = tuple(batch for batch in new if mandrel_of.get(batch) == mandrel_id)
    return Unlearned(
        own, tuple(batch for batch in new if batch not in own), bool(learned) and not learned.keys() & mandrel_of.keys()
    )


def require_askable(book: Book, findings: Sequence[Finding], target_id: str) -> str:
    """The mandrel of a target that may be asked about; empty where it names none.

    Raises BookError with the doubts about the target or its mandrel that nobody answered: steel would be cut by them.
    """
    require_answered(Path(book.folder), book, findings, target_id)
    return mandrel_of(book, target_id)


def mandrel_of(book: Book, target_id: str) -> str:
    """The mandrel a target is meant for; empty where it names none (which is found out, and said, when asked about)."""
    rows = book.targets[book.targets["target_id"] == target_id]["mandrel_id"]
    return str(rows.iloc[0]) if len(rows) and rows.iloc[0] is not None else ""


def measured_batches(book: Book, findings: Sequence[Finding]) -> dict[str, str]:
    """The book's measured batches with what their records say, bells that the findings set aside told apart."""
    return batch_digests(book, [one.subject for one in findings if one.sets_aside])


def learned_by(model: SpringModel) -> dict[str, str]:
    """The batches a model has learned, with what their records said."""
    return dict(model.memory.digests) if model.memory else {}
