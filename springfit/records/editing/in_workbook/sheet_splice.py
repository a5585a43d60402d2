"""Cells put into one worksheet's XML: only the rows concerned are written anew, every other byte stays as it was.

A spreadsheet keeps in a worksheet what no library reads and writes back whole (drawings, rules, what formulas gave
last). So the part is not parsed and written again: expat says at which byte each row and cell concerned stands, and
the new ones are spliced in there (ECMA-376, part 1, 18.3.1: rows and cells stand in rising order).
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from xml.parsers import expat
from xml.sax.saxutils import escape

from openpyxl.utils import get_column_letter
from openpyxl.utils.datetime import to_excel

__all__ = ["CellWriting", "NewCell", "spliced"]

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_TAG = re.compile(rb"<(?:[^>\"']|\"[^\"]*\"|'[^']*')*>")
_PLACE = re.compile(r"([A-Z]{1,3})(\d{1,7})")
_NO_XML = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")  # letters that XML 1.0 has not got


@dataclass(frozen=True)
class NewCell:
    """What is to stand in a cell: its text as typed, and whether its column is one of numbers."""

    text: str
    numeric: bool = False


@dataclass(frozen=True)
class CellWriting:
    """How cells of a workbook are written: the formats that show `days`, and from when those are counted."""

    days: frozenset[int]
    epoch: datetime.datetime

    def cell(self, place: str, new: NewCell, style: str, prefix: str) -> str:
        """The XML of one cell; nothing of a blank one without a format. Raises ValueError for a letter XML has not."""
        shows_day = style != "" and int(style) in self.days
        p, value, kind = prefix, "", ""
        if new.numeric and _NUMBER.fullmatch(new.text):
            value = f"<{p}v>{new.text}</{p}v>"
            style = "" if shows_day else style  # a number under it would be read as a day
        elif shows_day and _DAY.fullmatch(new.text):
            serial = to_excel(datetime.datetime.fromisoformat(new.text), self.epoch)
            value = f"<{p}v>{serial:.15g}</{p}v>"
        elif new.text:
            if _NO_XML.search(new.text):
                raise ValueError("a letter that no workbook can hold")
            kind = ' t="inlineStr"'
            value = f'<{p}is><{p}t xml:space="preserve">{escape(new.text)}</{p}t></{p}is>'
        formatted = f' s="{style}"' if style else ""
        if not value:
            return f'<{p}c r="{place}"{formatted}/>' if style else ""
        return f'<{p}c r="{place}"{formatted}{kind}>{value}</{p}c>'


@dataclass
class _Row:
    """A row as it stands: its bytes, those of its first tag, its cells as (column, begin, end, format)."""

    begin: int
    tag_end: int
    end: int = 0
    cells: list[tuple[int, int, int, str]] = field(default_factory=list)


def spliced(
    data: bytes, cells: Mapping[int, Mapping[int, NewCell]], writing: CellWriting, *, like: int | None = None
) -> bytes:
    """The worksheet with `cells` (row -> column from 0 -> cell) in it; new cells take the format of the row `like`.

    Raises ValueError for a part that is not UTF-8 or has no sheet data.
    """
    found = _Finder(data, {*cells, *(() if like is None else (like,))})
    formats = {column: style for column, _, _, style in found.rows[like].cells} if like in found.rows else {}
    edits: list[tuple[int, int, bytes]] = []
    for row in sorted(cells):
        text, place = _row(data, row, cells[row], formats, found, writing), found.rows.get(row)
        begin, end = (place.begin, place.end) if place else (found.before[row],) * 2
        edits.append((begin, end, text))
    if found.empty:  # <sheetData/> has no inside yet
        p, inside = found.prefix.encode(), b"".join(text for _, _, text in edits)
        edits = [(*found.empty, b"<%bsheetData>%b</%bsheetData>" % (p, inside, p))]
    if found.dimension:
        edits.insert(0, found.dimension_for(max(cells), max(max(row, default=0) for row in cells.values())))
    parts, at = [], 0
    for begin, end, text in edits:
        parts += [data[at:begin], text]
        at = end
    return b"".join([*parts, data[at:]])


def _row(
    data: bytes, row: int, new: Mapping[int, NewCell], formats: Mapping[int, str], found: _Finder, writing: CellWriting
) -> bytes:  # fmt: skip
    """The XML of one row: its own cells word for word but for the new ones."""
    old, p = found.rows.get(row), found.prefix
    own = {column: data[begin:end] for column, begin, end, _ in old.cells} if old else {}
    styles = {**formats, **{column: style for column, _, _, style in old.cells if style}} if old else formats
    for column, cell in new.items():
        place = f"{get_column_letter(column + 1)}{row}"
        own[column] = writing.cell(place, cell, styles.get(column, ""), p).encode()
    tag = data[old.begin : old.tag_end].removesuffix(b"/>").removesuffix(b">") if old else f'<{p}row r="{row}"'.encode()
    tag = re.sub(rb"\s+spans=(\"[^\"]*\"|'[^']*')", b"", tag)  # a hint that may be wrong by now
    return tag + b">" + b"".join(own[column] for column in sorted(own)) + f"</{p}row>".encode()


class _Finder:
    """Where in a worksheet the wanted rows stand; `before[row]`: where one that is not there would."""

    def __init__(self, data: bytes, wanted: set[int]) -> None:
        self.rows: dict[int, _Row] = {}
        self.before: dict[int, int] = {}
        self.prefix = ""
        self.empty: tuple[int, int] | None = None
        self.dimension: tuple[int, int, str] | None = None
        self._data, self._waiting = data, sorted(wanted, reverse=True)
        self._row, self._column, self._open = 0, -1, False
        self._parser = expat.ParserCreate()
        self._parser.StartElementHandler, self._parser.EndElementHandler = self._start, self._end
        self._parser.XmlDeclHandler = _require_utf8
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            raise ValueError("a worksheet that is not UTF-8")
        self._parser.Parse(data, True)
        if self._waiting:
            raise ValueError("no sheet data")

    def dimension_for(self, last_row: int, last_column: int) -> tuple[int, int, bytes]:
        """The edit that lets the sheet's stated size reach the new cells."""
        assert self.dimension is not None
        begin, end, ref = self.dimension
        first, _, last = ref.partition(":")
        at = _PLACE.fullmatch(last or first)
        if at is None:
            return begin, begin, b""
        column = max(_column_of(at.group(1)), last_column)
        new = f'ref="{first}:{get_column_letter(column + 1)}{max(int(at.group(2)), last_row)}"'
        return begin, end, re.sub(rb"\bref=(\"[^\"]*\"|'[^']*')", new.encode(), self._data[begin:end])

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        at = self._parser.CurrentByteIndex
        local = name.rpartition(":")[2]
        if local == "c" and self._open:
            self._column = _column_of(attributes.get("r", "")) if "r" in attributes else self._column + 1
            self.rows[self._row].cells.append((self._column, at, 0, attributes.get("s", "")))
        elif local == "row":
            self._row, self._column = int(attributes.get("r", self._row + 1)), -1
            self._pass(self._row, at)
            self._open = bool(self._waiting) and self._waiting[-1] == self._row
            if self._open:
                self._waiting.pop()
                self.rows[self._row] = _Row(at, self._tag_end(at))
        elif local == "sheetData":
            self.prefix = name.removesuffix("sheetData")
            if self._data[self._tag_end(at) - 2 : self._tag_end(at)] == b"/>":
                self.empty = (at, self._tag_end(at))
        elif local == "dimension":
            self.dimension = (at, self._tag_end(at), attributes.get("ref", ""))

    def _end(self, name: str) -> None:
        local = name.rpartition(":")[2]
        if local not in ("c", "row", "sheetData"):
            return
        at = self._parser.CurrentByteIndex
        if local == "sheetData":
            self._pass(None, at)
        elif self._open and local == "c":
            column, begin, _, style = self.rows[self._row].cells[-1]
            self.rows[self._row].cells[-1] = (column, begin, self._end_of(begin, at), style)
        elif self._open:
            self.rows[self._row].end = self._end_of(self.rows[self._row].begin, at)
            self._open = False

    def _pass(self, row: int | None, at: int) -> None:
        """Notes where the rows that should have come before `row` would stand."""
        while self._waiting and (row is None or self._waiting[-1] < row):
            self.before[self._waiting.pop()] = at

    def _tag_end(self, at: int) -> int:
        tag = _TAG.match(self._data, at)
        if tag is None:
            raise ValueError("a tag that does not end")
        return tag.end()

    def _end_of(self, begin: int, at: int) -> int:
        """Where the element that began at `begin` ends: expat stands before its last tag, or it has only one."""
        return self._tag_end(at) if self._data[at : at + 2] == b"</" else self._tag_end(begin)


def _require_utf8(version: str, encoding: str | None, standalone: int) -> None:
    if (encoding or "utf-8").casefold() != "utf-8":
        raise ValueError("a worksheet that is not UTF-8")


def _column_of(place: str) -> int:
    """Position of a cell from 0, by the letters of its place."""
    number = 0
    for letter in place:
        if not "A" <= letter <= "Z":
            break
        number = number * 26 + ord(letter) - 64
    return number - 1
