"""What a model has not learned of the book it is asked about: no steel is cut before it has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from springfit.records.book import Book

__all__ = ["ALL_LEARNED", "Unlearned", "unlearned"]


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
