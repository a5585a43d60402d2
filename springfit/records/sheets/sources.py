"""The sheets of a record book: which file of a folder, or sheet of a workbook, is which table."""

from __future__ import annotations

from pathlib import Path

from springfit.findings import BookError, Finding
from springfit.records.journal import book_files
from springfit.records.sheets.csv_text import csv_sheet
from springfit.records.sheets.sheet import LARGEST_SHEET, Sheet
from springfit.records.sheets.workbook import workbook_sheets
from springfit.records.tables import TABLES

__all__ = ["TableSheets", "read_sheets", "table_of"]

TableSheets = list[tuple[str, Sheet]]
_MEGABYTE = 2**20


def read_sheets(path: Path, *, decimal_comma: bool = False) -> tuple[TableSheets, list[Finding]]:
    """(table, sheet) of every table of the folder or workbook; a sheet without columns could not be read.

    Raises BookError when there is nothing to read at all.
    """
    try:
        if path.is_dir():
            return _folder_sheets(path, decimal_comma)
        if path.suffix.lower() == ".xlsx" and path.is_file():
            return _workbook_tables(path, decimal_comma)
        what = "this is a single file" if path.exists() else "there is no such folder or workbook"
    except (OSError, ValueError) as failed:
        what = f"it cannot be read ({getattr(failed, 'strerror', None) or failed})"
    raise BookError([_no_book(path, what)])


def table_of(name: str) -> str | None:
    """The table that a file or sheet belongs to: `bells.csv`, `bells-may` are `bells`; else None."""
    stem = name.lower().removesuffix(".csv").strip()
    return next((table for table in TABLES if stem == table or stem.startswith(f"{table}-")), None)


def _folder_sheets(folder: Path, decimal_comma: bool) -> tuple[TableSheets, list[Finding]]:
    findings: list[Finding] = []
    sheets: TableSheets = []
    for name, data in book_files(folder, largest=LARGEST_SHEET).items():
        table = table_of(name)
        if table is None:
            findings.append(_not_a_table(name))
        elif isinstance(data, int):
            findings.append(_too_large(name, data))
            sheets.append((table, Sheet(name)))
        else:
            sheet, said = csv_sheet(name, data, decimal_comma=decimal_comma)
            findings += said
            sheets.append((table, Sheet(name) if sheet is None else sheet))
    return sheets, findings


def _workbook_tables(path: Path, decimal_comma: bool) -> tuple[TableSheets, list[Finding]]:
    size = path.stat().st_size
    if size > LARGEST_SHEET:
        raise BookError([_too_large(str(path), size)])
    data = path.read_bytes()
    sheets, findings, others = workbook_sheets(path.name, data, table_of, decimal_comma=decimal_comma)
    return sheets, findings + [_not_a_table(name) for name in others]


def _too_large(name: str, size: int) -> Finding:
    what, expected = f"the file has {size // _MEGABYTE} MB", f"at most {LARGEST_SHEET // _MEGABYTE} MB"
    remedy = "split it, or take it out of the book: no sheet of readings is as large"
    return Finding("error", name, None, None, what, expected, remedy)


def _not_a_table(name: str) -> Finding:
    what = "this is not a table of a record book; it is not read"
    return Finding(
        "note", name, None, None, what, f"{', '.join(TABLES)}, each alone or followed by -anything"
    )


def _no_book(path: Path, what: str) -> Finding:
    expected = "a folder of CSV files, or an .xlsx workbook"
    return Finding("error", str(path), None, None, what, expected, "start one with springfit new")
