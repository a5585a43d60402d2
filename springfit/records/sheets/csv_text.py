"""The bytes of a CSV file as a sheet: encoding, separator, quotes.

A spreadsheet's habits are forgiven (byte-order mark, UTF-16, line ends, tabs, semicolons, upright strokes, a `sep=`
line, blank rows);
what would make the meaning of a cell a guess is refused by name.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass

from springfit.findings import Finding
from springfit.records.columns import Table
from springfit.records.sheets.layout.table_rows import HEADER_WITHIN, header_score
from springfit.records.sheets.layout.told_rows import Fault, Faults
from springfit.records.sheets.sheet import LARGEST_SHEET, Decimal, Sheet, text_sheet

__all__ = ["CsvForm", "csv_form", "csv_sheet", "first_rows"]

_BROKEN_LINES_ALLOWED = ("note", "what", "fault")  # columns where a cell may run over several lines
_LARGEST_CELL = 20_000  # characters of such a cell; more is an unclosed quote
_SEPARATORS = (",", ";", "\t", "|")
_BEGINNING = 16_384  # bytes that are looked at in a file under no table's name: its header stands there; even
_BROKEN = Fault("the cell runs over several lines", "one line", "look for a quote mark that is not closed")
_ENCODINGS = {
    codecs.BOM_UTF8: "utf-8", codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be", b"": "utf-8",
}  # fmt: skip
_SEP_LINE = re.compile(r"\s*\"?sep=(.)\"?[,;\t]*", re.IGNORECASE)


@dataclass(frozen=True)
class CsvForm:
    """How a CSV file is written: its `text`, the `mark` before it, its `encoding`, what parts the cells."""

    text: str
    mark: bytes
    encoding: str
    separator: str

    def encoded(self, text: str) -> bytes:
        """Another text in the same form. Raises ValueError for a letter that the encoding has not got."""
        return self.mark + text.encode(self.encoding)


def csv_form(data: bytes, table: Table) -> CsvForm | None:
    """How the bytes of a CSV file of `table` are written; None when they are no text."""
    text = _decoded("", data, [])
    if text is None:
        return None
    mark = next((mark for mark in _ENCODINGS if mark and data.startswith(mark)), b"")
    encoding = _ENCODINGS[mark]
    if not mark and text.encode(encoding) != data:
        encoding = "cp1252"
    return CsvForm(text, mark, encoding, _separator(text, table)[0])


def csv_sheet(
    file: str, data: bytes, table: Table, *, decimal_comma: bool = False
) -> tuple[Sheet | None, list[Finding]]:
    """The sheet of `table` in the bytes of one CSV file, or None with the findings that say why not."""
    findings: list[Finding] = []
    text = _decoded(file, data, findings)
    if text is None:
        return None, findings
    separator, first = _separator(text, table)
    # Where commas part the cells a point is no thousands mark: some files of a book may be written so.
    decimal: Decimal = "." if not decimal_comma else "," if separator == ";" else ".,"
    faults: Faults = {}
    records = _records(file, text, separator, first, faults, findings)
    return text_sheet(file, records, findings, table=table, decimal=decimal, faults=faults), findings


def first_rows(data: bytes) -> list[list[str]]:
    """The first rows of text, parted as each of the usual marks parts them; none of what is no text."""
    text = _decoded("", data[:_BEGINNING], [])
    lines = (text or "").splitlines()[:HEADER_WITHIN]
    return [[cell.strip(' "') for cell in line.split(mark)] for line in lines for mark in _SEPARATORS if mark in line]


def _decoded(file: str, data: bytes, findings: list[Finding]) -> str | None:
    """Text of the file: UTF-8, UTF-16 with its mark, else Windows Latin-1 with a note; None when it is no text."""
    if len(data) > LARGEST_SHEET:
        what, expected = f"the file has {len(data) / 2**20:.0f} MB", f"at most {LARGEST_SHEET // 2**20} MB"
        remedy = "split it, or take it out of the book: no sheet of readings is as large"
        findings.append(Finding("error", file, None, None, what, expected, remedy))
        return None
    wide = _wide_text(data)
    if wide is not None:
        return wide
    if b"\0" in data:
        what, remedy = "the file holds zero bytes: it is not text", "save the sheet as CSV UTF-8"
    else:
        try:
            return data.decode("utf-8-sig")
        except UnicodeDecodeError as bad:
            row = data.count(b"\n", 0, bad.start) + 1
        text = _latin(file, data, row, findings)
        if text is not None:
            return text
        what, remedy = "the bytes are neither UTF-8 nor Latin-1 text", "save the sheet as CSV UTF-8"
    findings.append(Finding("error", file, None, None, what, "CSV text in UTF-8", remedy))
    return None


def _wide_text(data: bytes) -> str | None:
    """Text of UTF-16 that says so by its mark; None for anything else."""
    if data[:2] not in (b"\xff\xfe", b"\xfe\xff"):
        return None
    try:
        text = data.decode("utf-16")
    except UnicodeDecodeError:
        return None
    return None if "\0" in text else text


def _latin(file: str, data: bytes, row: int, findings: list[Finding]) -> str | None:
    """Windows Latin-1 text, with a note at the `row` that is not UTF-8; None when it is not that either."""
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        return None
    what = "the text is not UTF-8; read as Latin-1 (Windows-1252)"
    remedy = "save it as CSV UTF-8, so that no letter can be read wrongly"
    findings.append(Finding("note", file, row, None, what, "UTF-8", remedy))
    return text


def _separator(text: str, table: Table) -> tuple[str, int]:
    """The cell separator, and how many lines stand before the sheet: what a `sep=` line says, else what makes most
    columns of the header."""
    lines = text[:100_000].splitlines()
    first = next((number for number, line in enumerate(lines) if line.strip()), 0)
    named = _SEP_LINE.fullmatch(lines[first]) if lines else None
    if named:
        return named.group(1), first + 1
    some = [line for line in lines if line.strip(" \t,;|")][:HEADER_WITHIN]
    scores = {mark: max((_score(line, mark, table) for line in some), default=0) for mark in _SEPARATORS}
    best = max(_SEPARATORS, key=lambda mark: scores[mark])
    if scores[best] < 1 and some:
        best = next((mark for mark in _SEPARATORS if mark in some[0]), ",")
    return best, 0


def _score(line: str, separator: str, table: Table) -> int:
    return header_score([cell.strip(' "') for cell in line.split(separator)], table)


def _records(
    file: str, text: str, separator: str, first: int, faults: Faults, findings: list[Finding]
) -> Iterator[tuple[int, list[str]]]:
    """Records of the CSV text with the line each begins on; a broken quote ends them with a finding."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    end = 0
    try:
        for record in reader:
            begin, end = end + 1, reader.line_num
            if begin <= first:
                continue
            if end != begin:
                _note_broken_cells(begin, record, faults)
            yield begin, record
    except csv.Error as bad:
        findings.append(
            Finding(
                "error",
                file,
                end + 1,
                None,
                f"the row cannot be split into cells ({bad})",
                "cells separated by commas, a cell with a comma or a quote in it wholly in quotes",
                "look for a quote mark that is not closed",
            )
        )


def _note_broken_cells(line: int, record: list[str], faults: Faults) -> None:
    """A cell over several lines is a remark, or else an unclosed quote that has swallowed rows."""
    for position, cell in enumerate(record):
        if "\n" in cell or "\r" in cell:
            allowed = _BROKEN_LINES_ALLOWED if len(cell) <= _LARGEST_CELL else ()
            faults[line, position] = Fault(_BROKEN.what, _BROKEN.expected, _BROKEN.remedy, allowed)
