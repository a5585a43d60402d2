"""Doubts that a person has answered: kept in the book's journal, and open again when the sizes change."""

from __future__ import annotations

import csv
import datetime
import hashlib
import io
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from springfit.files import write_file
from springfit.findings import BookError, Finding
from springfit.records.book import Book
from springfit.records.editing.cell_writing import csv_lines

__all__ = ["JOURNAL", "accept", "open_doubts", "require_answered", "with_answers"]

JOURNAL = "journal.csv"
_HEADER = ["day", "what", "subject", "row", "said", "mark"]


def accept(book: Path, findings: Sequence[Finding], subject: str, *, today: datetime.date) -> int:
    """Notes in the journal that the doubts about the mandrel or target `subject` were looked at; how many they are.

    Raises OSError when it cannot be written.
    """
    some = [finding for finding in open_doubts(book, findings) if finding.subject == subject]
    if some:
        rows = [
            [today.isoformat(), "accepted", subject, finding.place(), finding.what, _mark(finding)]
            for finding in some
        ]
        path = _place(book)
        before = path.read_bytes() if path.is_file() else csv_lines([_HEADER])
        write_file(path, before + csv_lines(rows))
    return len(some)


def open_doubts(book: Path, findings: Sequence[Finding]) -> list[Finding]:
    """The doubts that stop a correction and were not accepted as they stand now."""
    path = _place(book)
    text = path.read_text(encoding="utf-8", errors="replace") if path.is_file() else ""
    marks = {row[-1] for row in csv.reader(io.StringIO(text)) if len(row) == len(_HEADER)}
    return [finding for finding in findings if finding.stops and _mark(finding) not in marks]


def with_answers(book: Path, findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """The findings, doubts that were accepted being notes."""
    still = open_doubts(book, findings)
    return tuple(
        replace(f, grade="note", stops=False, remedy="accepted") if f.stops and f not in still else f
        for f in findings
    )


def require_answered(path: Path, book: Book, findings: Sequence[Finding], target: str) -> None:
    """Raises BookError with the open doubts about the target or its mandrel: steel would be cut by them."""
    of_target = book.targets[book.targets["target_id"] == target]
    names = {target, *(str(name) for name in of_target["mandrel_id"] if name is not None)}
    still = [f for f in open_doubts(path, findings) if f.subject in names]
    if still:
        raise BookError(replace(finding, grade="error") for finding in still)


def _mark(finding: Finding) -> str:
    """What the doubt says, whatever its row: it changes with the size in question."""
    return hashlib.sha256(f"{finding.subject}\n{finding.what}".encode()).hexdigest()[:16]


def _place(book: Path) -> Path:
    """In the book's folder; beside a workbook, under its name."""
    return book / JOURNAL if book.is_dir() else book.with_name(f"{book.name}.{JOURNAL}")
