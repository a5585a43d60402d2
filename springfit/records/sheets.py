"""One sheet as it was typed: cells as text, each with the line it stands on; CSV bytes to sheet.

A spreadsheet's habits are forgiven here (byte-order mark, line ends, blank rows, spaces, letter case of
headers); what would make a cell's meaning a guess is refused by name.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from springfit.findings import Finding

__all__ = ["LARGEST_SHEET", "Sheet", "csv_sheet", "text_sheet"]

LARGEST_SHEET = 128 * 2**20  # bytes; a million readings typed as CSV are about 70 MB
_LARGEST_CELL = 20_000  # characters; more is an unclosed quote or no sheet at all
_BROKEN_LINES_ALLOWED = ("note", "what", "fault")  # columns where a cell may run over several lines


@dataclass(frozen=True)
class Sheet:
    """Cells as stripped text: `cells[header]` is an object array, `rows` the line of each (header = 1)."""

    file: str
    header: tuple[str, ...] = ()
    cells: dict[str, np.ndarray] = field(default_factory=dict)
    rows: np.ndarray = field(default_factory=lambda: np.array([], dtype=np.int64))
    comma_is_point: bool = False

    def __len__(self) -> int:
        return len(self.rows)

    def rows_where(self, keep: np.ndarray) -> Sheet:
        """The sheet with only the rows that are to be kept, each still on its line."""
        cells = {name: column[keep] for name, column in self.cells.items()}
        return replace(self, cells=cells, rows=self.rows[keep])


def csv_sheet(file: str, data: bytes, *, decimal_comma: bool = False) -> tuple[Sheet | None, list[Finding]]:
    """The sheet in the bytes of one CSV file, or None with the findings that say why not."""
    findings: list[Finding] = []
    text = _decoded(file, data, findings)
    if text is None:
        return None, findings
    separator = _separator(file, text, decimal_comma, findings)
    if separator is None:
        return None, findings
    records = _records(file, text, separator, findings)
    sheet = text_sheet(file, records, findings, comma_is_point=decimal_comma)
    return sheet, findings


def text_sheet(
    file: str,
    records: Iterator[tuple[int, list[str]]],
    findings: list[Finding],
    *,
    comma_is_point: bool = False,
) -> Sheet | None:
    """The sheet in `records` of (line, cells), the first with text being the header. Adds to `findings`."""
    pool: dict[str, str] = {}
    header: list[str] | None = None
    lines: list[int] = []
    rows: list[list[str]] = []
    for line, record in records:
        cells = [pool.get(cell) or pool.setdefault(cell, cell.strip()) for cell in record]
        if not any(cells):
            continue
        if header is None:
            header = [cell.lower() for cell in cells]
            continue
        if len(cells) != len(header):
            _fit(file, line, cells, header, findings)
        lines.append(line)
        rows.append(cells)
    if header is None:
        findings.append(Finding("error", file, 1, None, "the sheet is empty", "a row of column names"))
        return None
    if not _header_is_sound(file, header, findings):
        return None
    columns = [_objects(column) for column in zip(*rows, strict=True)] or [_objects([]) for _ in header]
    if any(not name and any(column) for name, column in zip(header, columns, strict=True)):
        findings.append(
            Finding(
                "doubt",
                file,
                1,
                None,
                "cells stand in a column without a name; they are not read",
                "a name above every column",
            )
        )
    cells_of = {name: column for name, column in zip(header, columns, strict=True) if name}
    return Sheet(file, tuple(cells_of), cells_of, np.array(lines, dtype=np.int64), comma_is_point)


def _decoded(file: str, data: bytes, findings: list[Finding]) -> str | None:
    """Text of the file: UTF-8, else Windows Latin-1 with a note; None when it is no text."""
    if len(data) > LARGEST_SHEET:
        size = f"{len(data) / 2**20:.0f} MB"
        findings.append(
            Finding(
                "error",
                file,
                None,
                None,
                f"the file has {size}",
                f"at most {LARGEST_SHEET // 2**20} MB",
                "split it, or take it out of the book: no sheet of readings is as large",
            )
        )
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
        try:
            text = data.decode("cp1252")
        except UnicodeDecodeError:
            what, remedy = "the bytes are neither UTF-8 nor Latin-1 text", "save the sheet as CSV UTF-8"
        else:
            findings.append(
                Finding(
                    "note",
                    file,
                    row,
                    None,
                    "the text is not UTF-8; read as Latin-1 (Windows-1252)",
                    "UTF-8",
                    "save it as CSV UTF-8, so that no letter can be read wrongly",
                )
            )
            return text
    findings.append(Finding("error", file, None, None, what, "CSV text in UTF-8", remedy))
    return None


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


def _fit(file: str, line: int, cells: list[str], header: list[str], findings: list[Finding]) -> None:
    """Makes `cells` as long as the header: blank cells are added or dropped, others are a finding."""
    extra = [cell for cell in cells[len(header) :] if cell]
    if extra:
        findings.append(
            Finding(
                "error",
                file,
                line,
                None,
                f"the row has {len(cells)} cells, the header {len(header)}",
                "no more cells than the header",
                "a decimal comma or an unquoted comma splits a cell in two: write a point, or quote it",
            )
        )
    del cells[len(header) :]
    cells.extend([""] * (len(header) - len(cells)))


def _header_is_sound(file: str, header: list[str], findings: list[Finding]) -> bool:
    """Whether every named column stands once; columns without a name are dropped by the caller."""
    twice = sorted({name for name in header if name and header.count(name) > 1})
    for name in twice:
        findings.append(
            Finding(
                "error", file, 1, name, "the column stands twice", "each column once", "delete or rename one"
            )
        )
    return not twice


def _objects(column: tuple[str, ...] | list[str]) -> np.ndarray:
    """A 1-D object array of the texts."""
    array = np.empty(len(column), dtype=object)
    array[:] = column
    return array
