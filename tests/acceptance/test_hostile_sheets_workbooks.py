"""Workbooks read as the folder of CSV files is, and their own traps: dates, formulas, bombs."""

from __future__ import annotations

import datetime
from pathlib import Path

import openpyxl
import pytest
from small_book import Sheets, sheets, write

from springfit.records import check_book, read_book


def as_workbook(path: Path, book: Sheets) -> openpyxl.Workbook:
    """The sheets in a workbook, numbers as numbers and days as days, as a spreadsheet keeps them."""
    workbook = openpyxl.Workbook()
    workbook.active.title = "Notes"
    for name, rows in book.items():
        sheet = workbook.create_sheet(name.removesuffix(".csv"))
        for row in rows:
            sheet.append([_typed(cell) for cell in row])
    workbook.save(path)
    return workbook


def _typed(cell: str) -> object:
    try:
        return float(cell)
    except ValueError:
        pass
    try:
        return datetime.date.fromisoformat(cell)
    except ValueError:
        return cell or None


def test_workbook_reads_as_the_folder_does(tmp_path: Path) -> None:
    sound, _ = read_book(write(tmp_path / "book", sheets()))
    as_workbook(tmp_path / "book.xlsx", sheets())
    assert read_book(tmp_path / "book.xlsx")[0].digest == sound.digest


@pytest.mark.parametrize(
    ("value", "reason"),
    [
        ("=12+1", "the cell holds a formula (=12+1)"),
        (datetime.datetime(2025, 3, 8), "the spreadsheet has made a date of it"),
        ("13,3", "--decimal-comma"),
        ("#DIV/0!", "the cell shows #DIV/0!"),
    ],
)
def test_workbook_cells_that_are_refused(value: object, reason: str, tmp_path: Path) -> None:
    workbook = as_workbook(tmp_path / "book.xlsx", sheets())
    workbook["measurements"]["F5"] = value
    workbook.save(tmp_path / "book.xlsx")
    findings = check_book(tmp_path / "book.xlsx")
    places = [(f.file, f.row, f.column) for f in findings if reason in f.line()]
    assert places == [("book.xlsx[measurements]", 5, "value_mm")], findings
