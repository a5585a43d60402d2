"""What a book teaches, its laid columns worked out as this shop's hands lay sheet."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from springfit.findings import Finding
from springfit.learning.calibration.hand_search import found_hand
from springfit.learning.calibration.shown_curves import shown_curves
from springfit.learning.experience import Experience, experience_of
from springfit.records.book import Book

__all__ = ["calibrated_experience"]


def calibrated_experience(
    book: Book, findings: Sequence[Finding] = (), *, progress: Callable[[str], None] = lambda _: None
) -> Experience:
    """What `book` teaches, the shop's hand found first from a few of its batches.

    Raises BookError for an alloy that the table does not have.
    """
    progress("how sheet is laid here: from the bells of a few batches")
    hand = found_hand(shown_curves(book, findings), progress=progress)
    return experience_of(book, findings, hand=hand, progress=progress)
