"""A book as it can be changed, a folder or a workbook alike: what a change is made of, and which of the two it is."""

from __future__ import annotations

from contextlib import AbstractContextManager
from pathlib import Path
from typing import Protocol

from springfit.findings import BookError, Finding
from springfit.records.editing.in_workbook.kept_workbook import KeptWorkbook
from springfit.records.editing.kept_folder import KeptFolder
from springfit.records.editing.replacing import CellChange
from springfit.records.sheets.sources import TableSheets

__all__ = ["KeptBook", "kept_book"]


class KeptBook(Protocol):
    """A book that can be changed, all or nothing."""

    @property
    def path(self) -> Path:
        """Where the book is."""

    def held(self) -> AbstractContextManager[None]:
        """Holds the book for a change. Raises BookError when it is held for long, or cannot be written."""

    def merged(
        self, rows: TableSheets, changes: tuple[CellChange, ...], *, old: TableSheets
    ) -> dict[str, bytes]:
        """Name and new bytes of every file that changes with the `rows` added to the `old` sheets, and the `changes`
        made in them. Raises ValueError where they cannot be written so."""

    def sheets_with(self, files: dict[str, bytes]) -> TableSheets:
        """The book's sheets as they will be once `files` are written."""

    def change(self, files: dict[str, bytes], *, note: str, log: dict[str, bytes]) -> None:
        """Writes the files, all or none; what they replace is kept, with the `note`. Files of the `log` stand when the
        change is taken back. Raises OSError, nothing changed."""

    def undo(self) -> tuple[str, tuple[str, ...]]:
        """Takes the last change back: its note, the files concerned. Raises LookupError, OSError."""


def kept_book(path: Path) -> KeptBook:
    """The book at `path`; BookError where there is neither a folder nor a workbook."""
    if path.is_dir():
        return KeptFolder(path)
    if path.suffix.lower() == ".xlsx" and path.is_file():
        return KeptWorkbook(path)
    what = "this is neither a folder nor an .xlsx workbook" if path.exists() else "there is no such book"
    expected = "a folder of CSV files, or an .xlsx workbook"
    raise BookError([Finding("error", str(path), None, None, what, expected, "start one with springfit new")])
