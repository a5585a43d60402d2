"""The book's journal: doubts that a person has answered, open again when the sizes change; cells replaced, and taken
back."""

from __future__ import annotations

import csv
import datetime
import hashlib
import io
from collections.abc import Sequence
from pathlib import Path

from springfit.files import write_file
from springfit.findings import Finding
from springfit.records.sheets.formula_guard import guarded

__all__ = ["JOURNAL", "accept", "note_taken_back", "open_doubts", "replaced_noted"]

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
        before = path.read_bytes() if path.is_file() else _lines([_HEADER])
        write_file(path, before + _lines(rows))
    return len(some)


def open_doubts(book: Path, findings: Sequence[Finding]) -> list[Finding]:
    """The doubts that stop a correction and were not accepted as they stand now."""
    path = _place(book)
    text = path.read_text(encoding="utf-8", errors="replace") if path.is_file() else ""
    marks = {row[-1] for row in csv.reader(io.StringIO(text)) if len(row) == len(_HEADER)}
    return [finding for finding in findings if finding.stops and _mark(finding) not in marks]


def replaced_noted(book: Path, changes: Sequence[tuple[str, str, str]], reason: str) -> dict[str, bytes]:
    """The book's journal, by its name, with a row for each cell replaced: (subject, place, old -> new), and why."""
    today = datetime.date.today().isoformat()
    rows = [[today, "replaced", subject, place, f"{said}; {reason}", ""] for subject, place, said in changes]
    path = _place(book)
    before = path.read_bytes() if path.is_file() else _lines([_HEADER])
    return {path.name: before + _lines([[guarded(cell) for cell in row] for row in rows])}


def note_taken_back(book: Path, note: str) -> None:
    """Notes in the journal, where there is one, that the change of this note was taken back: what it says of cells
    replaced stands, and no longer holds. Raises OSError when it cannot be written."""
    path = _place(book)
    if path.is_file():
        row = [datetime.date.today().isoformat(), "taken back", "", "", note, ""]
        write_file(path, path.read_bytes() + _lines([[guarded(cell) for cell in row]]))


def _lines(rows: Sequence[Sequence[str]]) -> bytes:
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows(rows)
    return stream.getvalue().encode()


def _mark(finding: Finding) -> str:
    """What the doubt says, whatever its row: it changes with the size in question."""
    return hashlib.sha256(f"{finding.subject}\n{finding.what}".encode()).hexdigest()[:16]


def _place(book: Path) -> Path:
    """In the book's folder; beside a workbook, under its name."""
    return book / JOURNAL if book.is_dir() else book.with_name(f"{book.name}.{JOURNAL}")
