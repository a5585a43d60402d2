"""The shop that the page serves: one book, read again whenever it changes, its sheets in the making, its models.

Reading a book takes seconds, so it is read beside the page; what is shown is the book as it was last read, and whoever
needs the newest waits for it.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from springfit.bench.asking.asker import Asker
from springfit.bench.background.bench_jobs import BenchJobs
from springfit.bench.background.judged_states import JudgedStates
from springfit.bench.entry.desk import Desk
from springfit.findings import Finding

if TYPE_CHECKING:
    from springfit.records.book import Book

__all__ = ["ReadBook", "Shop"]

FileState = tuple[tuple[str, int, int], ...]


@dataclass(frozen=True)
class ReadBook:
    """A book as it was read: the `book` (None where it cannot be used), its `findings`, the `state` of its files."""

    book: Book | None
    findings: tuple[Finding, ...]
    state: FileState


class Shop:
    """One book in `folder`, its `store` of models, its `desk` of sheets in the making."""

    def __init__(self, folder: Path, store: Path) -> None:
        self.folder, self.store, self.desk = folder, store, Desk(folder)
        self.asker = Asker(folder, store)
        self.jobs = BenchJobs(folder, store, self._forget_model)
        self.judged = JudgedStates(folder, store)
        self._lacking: tuple[str, tuple[str, ...] | None] | None = None
        self._read: ReadBook | None = None
        self._reading = threading.Lock()
        self._beside: threading.Thread | None = None

    def read_now(self) -> ReadBook:
        """The book as it stands on the disk; waits for it to be read where it changed."""
        with self._reading:
            state = _file_state(self.folder)
            if self._read is None or self._read.state != state:
                self._read = _read_book(self.folder, state)
            return self._read

    def last_read(self) -> ReadBook:
        """The book as it was last read, which is read anew beside where it changed; waits only for the first time."""
        read = self._read
        if read is None:
            return self.read_now()
        if read.state != _file_state(self.folder):
            self.read_beside()
        return read

    def read_beside(self) -> None:
        """Begins to read the book in a thread of its own."""
        self._beside = threading.Thread(target=self.read_now, daemon=True)
        self._beside.start()

    @property
    def is_opening(self) -> bool:
        """Whether the book is being read for the first time."""
        return self._read is None and self._beside is not None and self._beside.is_alive()

    def on_disk(self) -> tuple[int, float]:
        """How many tables the book has, and of what size together [MB]."""
        sizes = [size for name, size, _ in _file_state(self.folder) if name.endswith(".csv")]
        return len(sizes), sum(sizes) / 1e6

    @property
    def units(self) -> Literal["mm", "in"]:
        """What the book's lengths are written in."""
        read = self.last_read()
        return "mm" if read.book is None else read.book.units

    def not_learned(self) -> tuple[str, ...] | None:
        """Measured batches that the model in use has not learned; None without a model. Loads the model: seconds."""
        read = self.read_now()
        if self._lacking is None or self._lacking[0] != (read.book.digest if read.book else ""):
            self._lacking = (read.book.digest if read.book else "", _not_learned(read, self.store))
        return self._lacking[1]

    def ask(self, mandrel_id: str, changes: list[list[str]]) -> dict[str, Any]:
        """What the model in use says of a changed bell of the mandrel."""
        in_use = self.store / "in_use.json"
        model = in_use.read_text("utf-8") if in_use.is_file() else ""
        return self.asker.ask(mandrel_id, changes, f"{self.last_read().state}{model}")

    def _forget_model(self) -> None:
        self._lacking = None


def _not_learned(read: ReadBook, store: Path) -> tuple[str, ...] | None:
    from springfit.decisions.unlearned import unlearned
    from springfit.findings import BookError
    from springfit.learning.versions.store import ModelStore
    from springfit.records.part import batch_digests

    if read.book is None:
        return None
    try:
        model = ModelStore(store).load()
    except BookError:
        return None
    measured = batch_digests(read.book, [one.subject for one in read.findings if one.sets_aside])
    lacking = unlearned(read.book, measured, dict(model.memory.digests) if model.memory else {})
    return tuple(measured) if lacking.foreign else lacking.others


def _read_book(folder: Path, state: FileState) -> ReadBook:
    from springfit.findings import BookError
    from springfit.records.reading import read_book

    try:
        book, findings = read_book(folder)
    except BookError as failed:
        return ReadBook(None, _all(failed.findings), state)
    return ReadBook(book, _all(findings), state)


def _all(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    return tuple(findings)


def _file_state(folder: Path) -> FileState:
    """What would differ if a file of the book had been written."""
    found = []
    for path in [*folder.glob("*.csv"), *folder.glob(".springfit-change*"), *folder.glob("book-settings.json")]:
        try:
            stat = path.stat()
        except OSError:
            continue
        found.append((path.name, stat.st_size, stat.st_mtime_ns))
    return tuple(sorted(found))
