"""A record book's folder or workbook, read in one pass: the Book, or every problem in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Literal

import pandas as pd

from springfit.findings import BookError, Finding, only_errors
from springfit.lengths import split_unit
from springfit.records.book import Book, Headers
from springfit.records.checks.catalogue import doubts
from springfit.records.columns import Table
from springfit.records.day_setting import kept_day_order
from springfit.records.digest import book_digest
from springfit.records.rules.alloys_known import alloy_findings
from springfit.records.rules.keys import key_findings
from springfit.records.rules.revisions import fill_revisions, steel_findings
from springfit.records.rules.usual_gauges import fill_gauges
from springfit.records.sheets.parsing import Parsed, parse_sheet
from springfit.records.sheets.schemas import schema_findings
from springfit.records.sheets.sheet import Sheet
from springfit.records.sheets.sources import read_sheets
from springfit.records.tables import TABLES
from springfit.records.telling.one_cause import told_by_cause

__all__ = ["assemble", "check_book", "joined", "read_book"]

def read_book(path: str | Path, *, decimal_comma: bool = False) -> tuple[Book, tuple[Finding, ...]]:
    """The book at `path` (a folder of CSV files, or a workbook) with its doubts and notes.

    `decimal_comma`: numbers are written with a decimal comma. Days are read in the
    order kept with the book. Raises BookError with every problem found.
    """
    sheets, findings = read_sheets(Path(path), decimal_comma=decimal_comma, days=kept_day_order(Path(path)))
    return assemble(sheets, findings, folder=str(path))


def check_book(path: str | Path, *, decimal_comma: bool = False) -> tuple[Finding, ...]:
    """Every error, doubt and note about the book at `path`; never raises for bad input."""
    try:
        return read_book(path, decimal_comma=decimal_comma)[1]
    except BookError as failed:
        return failed.findings


def assemble(
    sheets: Iterable[tuple[str, Sheet]], findings: Iterable[Finding] = (), *, folder: str
) -> tuple[Book, tuple[Finding, ...]]:
    """The book that the sheets make together, with its doubts and notes; BookError with every problem."""
    book, found = joined(sheets, findings, folder=folder)
    return book, told_by_cause([*found, *doubts(book)], {})


def joined(
    sheets: Iterable[tuple[str, Sheet]], findings: Iterable[Finding] = (), *, folder: str
) -> tuple[Book, list[Finding]]:
    """The book that the sheets make together, not looked over for doubts yet; BookError with every problem."""
    found = list(findings)
    parsed: dict[str, list[Parsed]] = {name: [] for name in TABLES}
    header_rows: dict[str, int] = {}
    for name, sheet in sheets:
        header_rows[sheet.file] = sheet.header_row
        part = parse_sheet(sheet, TABLES[name])
        parsed[name].append(part)
        if sheet.header:
            found += part.findings + schema_findings(part)
    frames = {name: _joined(TABLES[name], parts) for name, parts in parsed.items()}
    headers: Headers = {
        (part.sheet.file, column): header
        for parts in parsed.values()
        for part in parts
        for column, header in part.headers.items()
    }
    needed = [name for name, table in TABLES.items() if table.required]
    if frames["measurements"]["gauge_id"].notna().any():
        needed.append("gauges")
    present = {name for name, parts in parsed.items() if parts}
    if present or not only_errors(found):  # of a workbook that could not be read its own error tells all
        found += _missing_tables(folder, needed, present)
    whole, revised = _whole_tables(parsed, needed), fill_revisions(frames, headers)
    if "mandrels" in whole:  # else what is said of days and revisions is said of cells that were not read
        found += revised
    found += fill_gauges(frames, headers)
    found += alloy_findings(frames, headers)
    found += key_findings(frames, headers, whole)
    found += steel_findings(frames, headers)
    if only_errors(found):
        raise BookError(told_by_cause(found, header_rows))
    digest = book_digest(frames)
    return Book(folder=folder, units=_units(headers), digest=digest, headers=headers, **frames), found


def _joined(table: Table, parts: list[Parsed]) -> pd.DataFrame:
    """The frames of a table's files one after the other."""
    frames = [part.frame for part in parts] or [parse_sheet(Sheet(table.name), table).frame]
    filled = [frame for frame in frames if len(frame)] or frames[:1]
    return pd.concat(filled, ignore_index=True) if len(filled) > 1 else filled[0]


def _whole_tables(parsed: Mapping[str, list[Parsed]], needed: list[str]) -> set[str]:
    """Tables read with their key in all their files: only in these can a name be said to be missing.

    A table that may be left out is whole when it is: whoever names something of it is at fault.
    """
    return {
        name
        for name, parts in parsed.items()
        if (parts or name not in needed)
        and all(key in part.headers for part in parts for key in TABLES[name].key)
        and not any(column in TABLES[name].key for part in parts for _, column in part.unread)
    }


def _missing_tables(folder: str, needed: list[str], present: set[str]) -> list[Finding]:
    if not present:
        what = "this is not a record book: it holds none of the tables"
        expected = ", ".join(f"{name}.csv" for name in needed)
        return [Finding("error", folder, None, None, what, expected, "start one with springfit new")]
    return [
        Finding("error", f"{name}.csv", None, None, f"the table {name} is missing from {folder}",
                f"{name}.csv or {name}-*.csv", "add it, with its header row at least")
        for name in needed
        if name not in present
    ]  # fmt: skip


def _units(headers: Headers) -> Literal["mm", "in"]:
    """What most length columns are written in; thou counts as inches."""
    units = [split_unit(header)[1] for header in headers.values()]
    millimetres = sum(unit == "mm" for unit in units)
    return "mm" if millimetres >= sum(unit is not None for unit in units) - millimetres else "in"

