"""One worksheet read as a stream: rows of cells as text, merged cells filled down, hidden and struck rows named.

Only cells with a value take memory: a million empty formatted rows cost a second. Nothing is computed: a formula is a
fault of its cell, for what it would give is not known until a spreadsheet computes it.
"""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass, field
from typing import Any
from xml.parsers import expat

from openpyxl.utils.datetime import CALENDAR_MAC_1904, CALENDAR_WINDOWS_1900, from_excel

from springfit.records.sheets.layout.told_rows import Fault, Faults
from springfit.records.sheets.sheet import Decimal
from springfit.records.sheets.workbooks.archive import OpenWorkbook, SheetPart
from springfit.records.sheets.workbooks.cell_formats import CellFormats, SharedTexts
from springfit.records.sheets.workbooks.empty_cells import without_empty_cells
from springfit.records.sheets.workbooks.text_runs import Crossed, TextRuns

__all__ = ["Worksheet", "read_worksheet"]

_MOST_COLUMNS = 500  # cells further right are not read; the widest table has 22; a bound on memory
_MOST_FILLED = 2_000_000  # cells filled from merged ones; a bound on memory
_PLACE = re.compile(r"([A-Z]{1,3})(\d{1,7})")
_LONGEST_CELL = 32_767  # letters; spreadsheets hold no more in a cell
_LONGEST_QUOTED = 60  # letters of a formula or a text that a message repeats; what a line holds
_REMEDY = "copy the column and paste its values only"
_TYPE_AGAIN = "type the cell again with only what counts"
_REMARKS = ("note", "what", "fault")  # columns where a part may be struck through: nothing is computed from them


@dataclass
class Worksheet:
    """Rows with anything in them as (number, cells), faults of cells, the rows a spreadsheet hides or strikes, and by
    column the rows `filled` from a merged cell above, and those that the spreadsheet holds as `days`."""

    rows: list[tuple[int, list[str]]] = field(default_factory=list)
    faults: Faults = field(default_factory=dict)
    hidden: list[int] = field(default_factory=list)
    struck: list[int] = field(default_factory=list)
    filled: dict[int, list[int]] = field(default_factory=dict)
    days: dict[int, list[int]] = field(default_factory=dict)


def read_worksheet(
    book: OpenWorkbook, sheet: SheetPart, texts: SharedTexts, formats: CellFormats, decimal: Decimal, *, fewest: int = 0
) -> Worksheet:
    """The rows of one sheet; with `fewest` little more than so many of the first ones, as they stand. Raises TooLarge,
    or what XML raises when it is damaged."""
    if not fewest:
        book.require_few_values(sheet)
    reader = _Reader(texts, formats, decimal, CALENDAR_MAC_1904 if book.from_1904 else CALENDAR_WINDOWS_1900)
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler, parser.EndElementHandler = reader.start, reader.end
    parser.CharacterDataHandler = reader.data
    with book.archive.open(sheet.part) as stream:
        for part in without_empty_cells(stream):
            parser.Parse(part, False)
            if fewest and len(reader.made.rows) >= fewest:
                return reader.made
    parser.Parse(b"", True)
    if not reader.seen_data:
        raise ValueError("no sheet data")
    reader.fill_merged()
    return reader.made


class _Reader:
    """Handlers of one worksheet's elements; `made` grows row by row."""

    def __init__(
        self, texts: SharedTexts, formats: CellFormats, decimal: Decimal, epoch: datetime.datetime
    ) -> None:
        self.made = Worksheet()
        self.seen_data = False
        self._texts, self._formats, self._decimal, self._epoch = texts, formats, decimal, epoch
        self._row = 0
        self._hidden = False
        self._cells: dict[int, str] = {}
        self._column = -1
        self._kind = "n"
        self._format = 0
        self._value: list[str] = []
        self._formula: list[str] | None = None
        self._into: list[str] | None = None
        self._runs = TextRuns()
        self._merged: list[tuple[int, int, int]] = []

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """An element begins."""
        local = name.rpartition(":")[2]
        if local == "c":
            self._begin_cell(attributes)
        elif local == "v":
            self._into = self._value
        elif local == "f":
            self._formula = self._into = []
        elif local == "row":
            self._row = int(attributes.get("r", self._row + 1))
            self._hidden = attributes.get("hidden", "0") in ("1", "true")
            self._cells, self._column = {}, -1
        elif local == "mergeCell":
            self._note_merged(attributes.get("ref", ""))
        elif local == "sheetData":
            self.seen_data = True
        elif self._kind == "inlineStr":
            self._runs.start(local, attributes)
            self._into = self._runs.piece if local == "t" else None

    def end(self, name: str) -> None:
        """An element ends."""
        local = name.rpartition(":")[2]
        if local in ("v", "t", "f"):
            self._into = None
            self._runs.end(local)
        elif local == "c":
            if self._kind == "inlineStr":
                self._value = [self._runs.text()]
            if self._value or self._formula is not None:
                self._end_cell()
        elif local == "row" and self._cells:
            cells = [""] * (max(self._cells) + 1)
            for column, text in self._cells.items():
                cells[column] = text
            self.made.rows.append((self._row, cells))
            if self._hidden:
                self.made.hidden.append(self._row)

    def data(self, text: str) -> None:
        """Text between elements."""
        if self._into is not None:
            self._into.append(text)

    def fill_merged(self) -> None:
        """Gives each row of cells merged downward the value that stands in the first."""
        place = {row: n for n, (row, _) in enumerate(self.made.rows)}
        left = _MOST_FILLED
        for column, first, last in self._merged:
            top = self._cell(place.get(first), column)
            if not top or (last - first > len(place) and last - first > left):
                continue
            left -= last - first
            for row in range(first + 1, last + 1) if left > 0 else ():
                at = place.get(row)
                if at is not None and not self._cell(at, column):
                    cells = self.made.rows[at][1]
                    cells.extend([""] * (column + 1 - len(cells)))
                    cells[column] = top
                    self.made.filled.setdefault(column, []).append(row)

    def _cell(self, at: int | None, column: int) -> str:
        cells = [] if at is None else self.made.rows[at][1]
        return cells[column] if column < len(cells) else ""

    def _begin_cell(self, attributes: dict[str, str]) -> None:
        self._column = _column_of(attributes.get("r", ""), self._column + 1)
        self._kind = attributes.get("t", "n")
        self._format = int(attributes.get("s", 0))
        if self._value:
            self._value = []
        self._formula = None
        if self._kind == "inlineStr":
            self._runs.clear()

    def _end_cell(self) -> None:
        if self._column >= _MOST_COLUMNS:
            return
        value = "".join(self._value)
        if self._formula is not None:
            self._fault(f"the cell holds a formula (={''.join(self._formula)[:_LONGEST_QUOTED]})")
        elif self._kind == "e":
            self._fault(f"the cell shows {value[:_LONGEST_QUOTED]}")
        else:
            self._end_text(self._text(value), self._crossed(value))

    def _end_text(self, text: str, crossed: Crossed) -> None:
        """A cell with a text that is to be read, if it can be."""
        if len(text) > _LONGEST_CELL:
            self._fault(f"the cell holds {len(text)} letters", _TYPE_AGAIN)
            return
        if crossed == "part":
            what = f"part of the cell is struck through ({text[:_LONGEST_QUOTED]!r} in all)"
            self._fault(what, _TYPE_AGAIN, but_in=_REMARKS)
        if text:
            self._cells[self._column] = text
            struck = crossed == "all" or self._format in self._formats.struck
            if struck and self.made.struck[-1:] != [self._row]:
                self.made.struck.append(self._row)

    def _fault(self, what: str, remedy: str = _REMEDY, *, but_in: tuple[str, ...] = ()) -> None:
        self._cells[self._column] = ""
        self.made.faults[self._row, self._column] = Fault(what, "a value", remedy, but_in)

    def _crossed(self, value: str) -> Crossed:
        """What of the cell's text is struck through by its own runs."""
        if self._kind == "s" and self._texts.crossed:
            return self._texts.crossed.get(int(value), "")
        return self._runs.crossed() if self._kind == "inlineStr" else ""

    def _text(self, value: str) -> str:
        """A cell as a person would type it: shortest decimal, ISO day."""
        if self._kind == "s":
            return self._texts.texts[int(value)]
        if self._kind == "b":
            return "yes" if value == "1" else "no"
        if self._kind in ("inlineStr", "str"):
            return value
        if self._kind == "d":
            return value.removesuffix("T00:00:00")
        number = float(value)
        if self._format in self._formats.days:
            self.made.days.setdefault(self._column, []).append(self._row)
            return _day(from_excel(number, self._epoch))
        text = repr(int(number)) if number.is_integer() and abs(number) < 1e15 else repr(number)
        return text.replace(".", self._decimal)

    def _note_merged(self, ref: str) -> None:
        first, _, last = ref.partition(":")
        top, bottom = _PLACE.fullmatch(first), _PLACE.fullmatch(last)
        if top and bottom and int(bottom.group(2)) > int(top.group(2)):
            column = _column_of(first, 0)
            if column < _MOST_COLUMNS:
                self._merged.append((column, int(top.group(2)), int(bottom.group(2))))


def _column_of(place: str, following: int) -> int:
    """Position of a cell from its place (`B7`), else the one after the cell before."""
    number = 0
    for letter in place:
        if not "A" <= letter <= "Z":
            break
        number = number * 26 + ord(letter) - 64
    return number - 1 if number else following


def _day(value: Any) -> str:
    """A day as ISO text; with its time where it has one."""
    if isinstance(value, datetime.datetime):
        whole = value.time() == datetime.time(0)
        return value.date().isoformat() if whole else value.isoformat(sep=" ")
    return str(value)
