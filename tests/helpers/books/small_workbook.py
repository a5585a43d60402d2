"""The sheets of a small book as one workbook."""

from __future__ import annotations

import datetime
import zipfile
from pathlib import Path

import openpyxl

from tests.helpers.books.small_book import Sheets


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


def zipped(path: Path, parts: dict[str, bytes]) -> Path:
    """A zip archive of these parts."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return path
