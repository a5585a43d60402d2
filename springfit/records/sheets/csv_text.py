"""The bytes of a CSV file as a sheet: encoding, separator, quotes.

A spreadsheet's habits are forgiven (byte-order mark, line ends, blank rows); what would make the meaning of a cell
a guess is refused by name.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from springfit.findings import Finding
from springfit.records.sheets.sheet import LARGEST_SHEET, Decimal, Sheet, text_sheet

__all__ = ["csv_sheet"]

_BROKEN_LINES_ALLOWED = ("note", "what", "fault")  # columns where a cell may run over several lines
_LARGEST_CELL = 20_000  # characters of such a cell; more is an unclosed quote


def csv_sheet(file: str, data: bytes, *, decimal_comma: bool = False) -> tuple[Sheet | None, list[Finding]]:
    """The sheet in the bytes of one CSV file, or None with the findings that say why not."""
    findings: list[Finding] = []
    text = _decoded(file, data, findings)
    if text is None:
        return None, findings
    separator = _separator(file, text, decimal_comma, findings)
    if separator is None:
        return None, findings
    # Where commas part the cells a point is no thousands mark: some files of a book may be written so.
    decimal: Decimal = "." if not decimal_comma else "," if separator == ";" else ".,"
    return text_sheet(file, _records(file, text, separator, findings), findings, decimal=decimal), findings


def _decoded(file: str, data: bytes, findings: list[Finding]) -> str | None:
    """Text of the file: UTF-8, else Windows Latin-1 with a note; None when it is no text."""
    if len(data) > LARGEST_SHEET:
        what, expected = f"the file has {len(data) / 2**20:.0f} MB", f"at most {LARGEST_SHEET // 2**20} MB"
        remedy = "split it, or take it out of the book: no sheet of readings is as large"
        findings.append(Finding("error", file, None, None, what, expected, remedy))
        return None
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        what, remedy = "the file is UTF-16 text", "save it as CSV UTF-8 (comma separated)"
    elif b"\0" in data:
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


def _separator(file: str, text: str, decimal_comma: bool, findings: list[Finding]) -> str | None:
    """The cell separator, judged by the header line; None (with a finding) when it is not to be used."""
    header = next((line for line in text[:100_000].splitlines() if line.strip(" \t,;")), "")
    if "," in header or not any(mark in header for mark in ";\t"):
        return ","
    if "\t" in header and ";" not in header:
        findings.append(
            Finding("error", file, 1, None, "the cells are separated by tabs", "commas", "save it as CSV")
        )
        return None
    if decimal_comma:
        return ";"
    findings.append(
        Finding(
            "error",
            file,
            1,
            None,
            "the cells are separated by semicolons (a decimal comma?)",
            "commas between cells and points in numbers",
            "read the book with --decimal-comma, or save the sheet with commas and points",
        )
    )
    return None


def _records(
    file: str, text: str, separator: str, findings: list[Finding]
) -> Iterator[tuple[int, list[str]]]:
    """Records of the CSV text with the line each begins on; a broken quote ends them with a finding."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    header: list[str] = []
    end = 0
    try:
        for record in reader:
            begin, end = end + 1, reader.line_num
            if end != begin:
                _refuse_broken_cells(file, begin, record, header, findings)
            if not header and any(record):
                header = [cell.strip().lower() for cell in record]
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


def _refuse_broken_cells(
    file: str, line: int, record: list[str], header: list[str], findings: list[Finding]
) -> None:
    """A cell over several lines is a note, or else an unclosed quote that has swallowed rows."""
    for position, cell in enumerate(record):
        name = header[position] if position < len(header) else ""
        if ("\n" in cell or "\r" in cell) and (
            name not in _BROKEN_LINES_ALLOWED or len(cell) > _LARGEST_CELL
        ):
            findings.append(
                Finding(
                    "error",
                    file,
                    line,
                    name or None,
                    "the cell runs over several lines",
                    "one line",
                    "look for a quote mark that is not closed",
                )
            )
