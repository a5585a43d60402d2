"""The last addition taken back, all of it or nothing; asked again, the one before it."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from springfit.findings import BookError, Finding
from springfit.records.accepted import note_taken_back
from springfit.records.editing.kept_book import kept_book

__all__ = ["undo_addition"]


def undo_addition(book: str | Path) -> tuple[str, ...]:
    """Takes back what was added last to the book, and says so in short lines.

    Raises BookError, with nothing changed, when there is nothing to take back, when a file was changed by hand since,
    or the book cannot be written.
    """
    kept = kept_book(Path(book))
    with kept.held():
        try:
            note, files = kept.undo()
        except LookupError as none:
            what = f"{none.args[0]}; nothing was changed"
            raise BookError([Finding("error", str(book), None, None, what, "an addition as it was made")]) from None
        with suppress(OSError):  # it is taken back by now, whether or not the journal has room for it
            note_taken_back(kept.path, note)
    return f"taken back: {note}", *(f"{name} is as it was before" for name in files)
