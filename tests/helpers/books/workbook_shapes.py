"""Shapes that a workbook of the small book may have, and what comes of reading a book."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import openpyxl
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from springfit.findings import BookError
from springfit.records import read_book
from springfit.records.book import Book
from tests.helpers.books.small_book import sheets
from tests.helpers.books.small_workbook import as_workbook

Shape = Callable[[Workbook], None]
LAST = 146  # row of the last reading of the small book


def tables(workbook: Workbook) -> list[Worksheet]:
    return [sheet for sheet in workbook.worksheets if sheet.title != "Notes"]


def on(name: str, do: Callable[[Worksheet], object]) -> Shape:
    return lambda workbook: do(workbook[name]) and None


def readings(do: Callable[[Worksheet], object]) -> Shape:
    return on("measurements", do)


def each(do: Callable[[Worksheet], object]) -> Shape:
    def shape(workbook: Workbook) -> None:
        for sheet in tables(workbook):
            do(sheet)

    return shape


def put(name: str, place: str, value: object) -> Shape:
    return lambda workbook: workbook[name].__setitem__(place, value)


def judged(path: Path, sound: Book) -> tuple[str, str]:
    """What came of it: "read", "told", or "silently wrong"; and what was said."""
    try:
        book, findings = read_book(path)
    except BookError as refused:
        lines = "\n".join(finding.line() for finding in refused.findings)
        errors = [one for one in refused.findings if one.grade == "error"]
        named = all(one.file and one.what and (one.expected or one.remedy) for one in errors)
        return ("told" if named else "refused without saying what to do"), lines
    lines = "\n".join(finding.line() for finding in findings)
    if book.digest == sound.digest:
        return "read", lines
    return ("told" if any(one.grade == "doubt" for one in findings) else "silently wrong"), lines


def kept_as_workbook(folder: Path, shape: Shape) -> Path:
    """The sound book as a workbook of that shape."""
    path = folder / "book.xlsx"
    as_workbook(path, sheets())
    workbook = openpyxl.load_workbook(path)
    shape(workbook)
    workbook.save(path)
    return path


def errors(path: Path) -> list[str]:
    """The sentences that the book is refused with; none for one that is read."""
    try:
        read_book(path)
    except BookError as refused:
        return [finding.line() for finding in refused.findings if finding.grade == "error"]
    return []
