"""A book that is one workbook, as `adding` changes it: new rows behind a sheet's last, corrected cells in place.

Rows go to the table's sheet where it has a column for each of theirs, in the format of the row above; else (another
unit, another column, no such sheet) to a sheet of their own behind the others.
"""

from __future__ import annotations

from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from pathlib import Path

from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900

from springfit.records.day_setting import kept_day_order
from springfit.records.editing.in_workbook.sheet_splice import CellWriting, NewCell, spliced
from springfit.records.editing.in_workbook.workbook_changes import (
    change_workbook,
    finish_workbook,
    undo_workbook,
)
from springfit.records.editing.in_workbook.workbook_parts import recomputed, with_parts, with_sheet
from springfit.records.editing.locking import held, not_written
from springfit.records.editing.replacing import CellChange
from springfit.records.editing.written_cells import written_cells
from springfit.records.sheets.formula_guard import unguarded
from springfit.records.sheets.headers import match_headers
from springfit.records.sheets.sheet import Sheet
from springfit.records.sheets.sources import TableSheets, workbook_tables
from springfit.records.sheets.workbooks.archive import open_workbook
from springfit.records.sheets.workbooks.cell_formats import formats_in, shared_texts
from springfit.records.sheets.workbooks.worksheet import read_worksheet
from springfit.records.tables import TABLES

__all__ = ["KeptWorkbook"]

_Cells = dict[int, dict[int, NewCell]]


@dataclass(frozen=True)
class KeptWorkbook:
    """The workbook at `path`."""

    path: Path

    def held(self) -> AbstractContextManager[None]:
        """Holds the book for a change. Raises BookError when it is held for long, open elsewhere, or not writable."""
        for mark in (f"~${self.path.name}", f".~lock.{self.path.name}#"):
            if (self.path.with_name(mark)).exists():
                what = f"the workbook is open in a spreadsheet (its mark {mark} is there)"
                raise not_written(self.path, what, "save and close it there; delete the mark if nobody has it open")
        lock = self.path.with_name(f".{self.path.name}.springfit-lock")
        return held(self.path, lock, lambda: finish_workbook(self.path))

    def merged(
        self, rows: TableSheets, changes: tuple[CellChange, ...], *, old: TableSheets
    ) -> dict[str, bytes]:
        """The workbook's name and new bytes with the `rows` added and the `changes` made; nothing where none is.

        Raises ValueError where its parts cannot be written.
        """
        if not rows and not changes:
            return {}
        data = self.path.read_bytes()
        by_file: dict[str, list[CellChange]] = {}
        for change in changes:
            by_file.setdefault(change.file, []).append(change)
        for file, some in by_file.items():
            cells: _Cells = {}
            for one in some:
                cells.setdefault(one.row, {})[one.position] = _changed(one, old)
            data = _with_cells(data, self._title(file), cells)
        sheets = list(old)
        for table, sheet in rows:
            home = next((s for name, s in sheets if name == table and set(sheet.header) <= set(s.header)), None)
            if home is None:
                title = _free_title(data, table)
                data = _with_cells(with_sheet(data, title), title, {1: _row(dict(enumerate(sheet.header)))})
                positions = {name: n for n, name in enumerate(sheet.header)}
                home = Sheet(f"{self.path.name}[{title}]", sheet.header, positions=positions)
                sheets.append((table, home))
            data = _with_rows(data, self._title(home.file), home, sheet, table)
        data = with_parts(data, recomputed(open_workbook(data)))
        return {self.path.name: data}

    def sheets_with(self, files: dict[str, bytes]) -> TableSheets:
        """The book's sheets as they will be once `files` are written."""
        data = files.get(self.path.name) or self.path.read_bytes()
        days = kept_day_order(self.path)
        return [(table, replace(sheet, days=days)) for table, sheet in workbook_tables(self.path.name, data)[0]]

    def change(self, files: dict[str, bytes], *, note: str, log: dict[str, bytes]) -> None:
        """Puts the new workbook in place of the old one, which is kept. Raises OSError, nothing changed."""
        change_workbook(self.path, files[self.path.name], note=note, log=log)

    def undo(self) -> tuple[str, tuple[str, ...]]:
        """Takes the last change back: its note, the files concerned. Raises LookupError, OSError."""
        return undo_workbook(self.path)

    def _title(self, file: str) -> str:
        return file.removeprefix(f"{self.path.name}[").removesuffix("]")


def _changed(change: CellChange, old: TableSheets) -> NewCell:
    """The new value of a cell, as a number where its column is one of numbers."""
    table, sheet = next((table, sheet) for table, sheet in old if sheet.file == change.file)
    matched, _ = match_headers(sheet, TABLES[table])
    numeric = any(header == change.header and TABLES[table].by_name[n].numeric for n, header in matched.items())
    return NewCell(unguarded(change.new), numeric)


def _row(texts: dict[int, str]) -> dict[int, NewCell]:
    return {column: NewCell(text) for column, text in texts.items()}


def _with_rows(data: bytes, title: str, home: Sheet, new: Sheet, table: str) -> bytes:
    """The workbook with the rows of `new` behind the last row of the sheet `home`."""
    cells, matched = written_cells(new, table), match_headers(new, TABLES[table])[0]
    numeric = {header for name, header in matched.items() if TABLES[table].by_name[name].numeric}
    last = max((row for row, _ in _rows_with_text(data, title)), default=0)
    rows: _Cells = {
        last + 1 + n: {
            home.positions[name]: NewCell(unguarded(column[n]), name in numeric)
            for name, column in cells.items() if column[n]
        }
        for n in range(len(new))
    }  # fmt: skip
    like = int(home.rows[-1]) if len(home) else None
    return _with_cells(data, title, rows, like=like)


def _with_cells(data: bytes, title: str, cells: _Cells, *, like: int | None = None) -> bytes:
    book = open_workbook(data)
    part = next(one.part for one in book.sheets if one.title == title)
    formats = formats_in(book.part("xl/styles.xml"))
    writing = CellWriting(formats.days, CALENDAR_MAC_1904 if book.from_1904 else CALENDAR_WINDOWS_1900)
    return with_parts(data, {part: spliced(book.archive.read(part), cells, writing, like=like)})


def _rows_with_text(data: bytes, title: str) -> list[tuple[int, list[str]]]:
    book = open_workbook(data)
    one = next(sheet for sheet in book.sheets if sheet.title == title)
    texts, formats = shared_texts(book.part("xl/sharedStrings.xml")), formats_in(book.part("xl/styles.xml"))
    return read_worksheet(book, one, texts, formats, ".").rows


def _free_title(data: bytes, table: str) -> str:
    """A title of the table that the workbook has not got yet."""
    taken = {sheet.title.casefold() for sheet in open_workbook(data).sheets}
    number, title = 2, table
    while title in taken:
        title, number = f"{table}-{number:02d}", number + 1
    return title
