"""A book that is a folder of CSV files, as `adding` changes it."""

from __future__ import annotations

from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

from springfit.records.editing.data_package import PACKAGE, package_bytes
from springfit.records.editing.locking import held
from springfit.records.editing.merging import merged_files, merged_sheets
from springfit.records.editing.replacing import CellChange, with_cells
from springfit.records.journal import book_files, change_files, finish_change, undo_change
from springfit.records.sheets.sheet import LARGEST_SHEET
from springfit.records.sheets.sources import TableSheets

__all__ = ["KeptFolder"]

_LOCK = ".springfit-lock"


@dataclass(frozen=True)
class KeptFolder:
    """The folder at `path`."""

    path: Path

    def held(self) -> AbstractContextManager[None]:
        """Holds the book for a change. Raises BookError when it is held for long, or cannot be written."""
        return held(self.path, self.path / _LOCK, lambda: finish_change(self.path))

    def merged(
        self, rows: TableSheets, changes: tuple[CellChange, ...], *, old: TableSheets
    ) -> dict[str, bytes]:
        """Name and new bytes of every file that changes with the `rows` added and the `changes` made.

        Raises ValueError where a file with a change is in an encoding that has no such letter.
        """
        texts = {n: d for n, d in book_files(self.path, largest=LARGEST_SHEET).items() if isinstance(d, bytes)}
        files = merged_files(self.path, rows, with_cells(texts, changes))
        if (self.path / PACKAGE).is_file() and any(not (self.path / name).exists() for name in files):
            files[PACKAGE] = package_bytes(self.sheets_with(files))
        return files

    def sheets_with(self, files: dict[str, bytes]) -> TableSheets:
        """The book's sheets as they will be once `files` are written."""
        return merged_sheets(self.path, files)

    def change(self, files: dict[str, bytes], *, note: str, log: dict[str, bytes]) -> None:
        """Writes the files, all or none; what they replace is kept. Raises OSError, nothing changed."""
        change_files(self.path, files, note=note, log=log)

    def undo(self) -> tuple[str, tuple[str, ...]]:
        """Takes the last change back: its note, the files concerned. Raises LookupError, OSError."""
        return undo_change(self.path)
