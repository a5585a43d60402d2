"""The last addition taken back, all of it or nothing; asked again, the one before it."""

from __future__ import annotations

from pathlib import Path

from springfit.findings import BookError, Finding
from springfit.records.editing.locking import book_locked
from springfit.records.journal import undo_change

__all__ = ["undo_addition"]


def undo_addition(book: str | Path) -> tuple[str, ...]:
    """Takes back what was added last to the book's folder, and says so in short lines.

    Raises BookError, with nothing changed, when there is nothing to take back, when a file was changed by hand since,
    or the book cannot be written.
    """
    folder = Path(book)
    if not folder.is_dir():
        what = "only additions to a folder of CSV files can be taken back"
        raise BookError([Finding("error", str(book), None, None, what, "a folder")])
    with book_locked(folder):
        try:
            note, files = undo_change(folder)
        except LookupError as none:
            what = f"{none.args[0]}; nothing was changed"
            raise BookError(
                [Finding("error", str(book), None, None, what, "an addition as it was made")]
            ) from None
    return f"taken back: {note}", *(f"{name} is as it was before" for name in files)
