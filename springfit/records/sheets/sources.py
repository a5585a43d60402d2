"""The sheets of a record book: which file of a folder, or sheet of a workbook, is which table."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from springfit.findings import BookError, Finding
from springfit.records.columns import Table
from springfit.records.journal import book_files
from springfit.records.sheets.csv_text import csv_sheet, first_rows
from springfit.records.sheets.days import DayOrder
from springfit.records.sheets.sheet import LARGEST_SHEET, Sheet
from springfit.records.sheets.strays import OWN_FILES, not_a_table, stray_findings
from springfit.records.sheets.table_names import table_of
from springfit.records.sheets.workbook import workbook_sheets
from springfit.records.tables import TABLES

__all__ = ["TableSheets", "read_sheets", "workbook_tables"]

TableSheets = list[tuple[str, Sheet]]
_MEGABYTE = 2**20  # bytes


def read_sheets(
    path: Path, *, decimal_comma: bool = False, days: DayOrder = ""
) -> tuple[TableSheets, list[Finding]]:
    """(table, sheet) of every table of the folder or workbook; a sheet without columns could not be read.

    `days`: the order in which its days are written, where they are not year-month-day. Raises BookError when there is
    nothing to read at all.
    """
    try:
        if path.is_dir():
            return _dated(_folder_sheets(path, decimal_comma), days)
        if path.suffix.lower() == ".xlsx" and path.is_file():
            return _dated(_workbook_at(path, decimal_comma), days)
        what = "this is a single file" if path.exists() else "there is no such folder or workbook"
    except (OSError, ValueError) as failed:
        what = f"it cannot be read ({getattr(failed, 'strerror', None) or failed})"
    raise BookError([_no_book(path, what)])


def _dated(read: tuple[TableSheets, list[Finding]], days: DayOrder) -> tuple[TableSheets, list[Finding]]:
    return [(table, replace(sheet, days=days)) for table, sheet in read[0]], read[1]


def _folder_sheets(folder: Path, decimal_comma: bool) -> tuple[TableSheets, list[Finding]]:
    findings: list[Finding] = []
    sheets: TableSheets = []
    for name, data in book_files(folder, largest=LARGEST_SHEET).items():
        table = table_of(name)
        if name in OWN_FILES:
            continue
        if table is None:
            findings.append(not_a_table(name, name, first_rows(data) if isinstance(data, bytes) else ()))
        elif isinstance(data, int):
            findings.append(_too_large(name, data))
            sheets.append((table, Sheet(name)))
        else:
            sheet, said = csv_sheet(name, data, TABLES[table], decimal_comma=decimal_comma)
            findings += said
            sheets.append((table, Sheet(name) if sheet is None else sheet))
    return sheets, findings + stray_findings(folder)


def workbook_tables(
    name: str, data: bytes, *, decimal_comma: bool = False
) -> tuple[TableSheets, list[Finding]]:
    """(table, sheet) of every table in the bytes of a workbook called `name`, as `read_sheets` gives them."""
    sheets, findings, others = workbook_sheets(name, data, _named_table, decimal_comma=decimal_comma)
    return sheets, findings + [not_a_table(f"{name}[{title}]", title, rows) for title, rows in others.items()]


def _workbook_at(path: Path, decimal_comma: bool) -> tuple[TableSheets, list[Finding]]:
    size = path.stat().st_size
    if size > LARGEST_SHEET:
        raise BookError([_too_large(str(path), size)])
    return workbook_tables(path.name, path.read_bytes(), decimal_comma=decimal_comma)


def _named_table(title: str) -> Table | None:
    name = table_of(title)
    return None if name is None else TABLES[name]


def _too_large(name: str, size: int) -> Finding:
    what, expected = f"the file has {size // _MEGABYTE} MB", f"at most {LARGEST_SHEET // _MEGABYTE} MB"
    remedy = "split it, or take it out of the book: no sheet of readings is as large"
    return Finding("error", name, None, None, what, expected, remedy)


def _no_book(path: Path, what: str) -> Finding:
    expected = "a folder of CSV files, or an .xlsx workbook"
    return Finding("error", str(path), None, None, what, expected, "start one with springfit new")
