"""A book checked by someone who may answer: the order of its days, a doubted mandrel or target accepted."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from springfit.findings import BookError, Finding
from springfit.records.accepted import accept, open_doubts
from springfit.records.book import Book
from springfit.records.day_setting import keep_day_order
from springfit.records.reading import read_book
from springfit.records.sheets.days import DayOrder
from springfit.records.telling.book_counts import book_counts, empty_book

__all__ = ["Checked", "checked_with_answers", "require_answered"]


@dataclass(frozen=True)
class Checked:
    """The `findings` about a book, and in a few lines what was `read` of it (nothing of one that cannot be read)."""

    findings: tuple[Finding, ...]
    read: tuple[str, ...]


def checked_with_answers(
    book: Path, *, decimal_comma: bool = False, days: DayOrder = "", accepted: str = ""
) -> Checked:
    """The findings about the book, accepted doubts as notes; an empty book is at fault.

    `days`, kept with the book, is the order of days from now on; the doubts about the mandrel or target `accepted` are
    noted in its journal as looked at. Raises OSError when that cannot be written.
    """
    if days and book.exists():
        keep_day_order(book, days)
    read: tuple[str, ...] = ()
    try:
        whole, findings = read_book(book, decimal_comma=decimal_comma)
        findings, read = (*empty_book(whole), *findings), book_counts(whole, findings).lines()
    except BookError as failed:
        findings = failed.findings
    if accepted:
        accept(book, findings, accepted, today=datetime.date.today())
    still = open_doubts(book, findings)
    answered = tuple(
        replace(f, grade="note", stops=False, remedy="accepted") if f.stops and f not in still else f
        for f in findings
    )
    return Checked(answered, read)


def require_answered(path: Path, book: Book, findings: Sequence[Finding], target: str) -> None:
    """Raises BookError with the open doubts about the target or its mandrel: steel would be cut by them."""
    of_target = book.targets[book.targets["target_id"] == target]
    names = {target, *(str(name) for name in of_target["mandrel_id"] if name is not None)}
    still = [f for f in open_doubts(path, findings) if f.subject in names]
    if still:
        raise BookError(replace(finding, grade="error") for finding in still)
