"""Kinds of sheets from a third shop, each of which was misread, refused in a dozen sentences, or refused for nothing.

"read" has to give the clean book cell for cell and no doubt; "doubted" gives the same book, a doubt that has the words
beside it, and no more doubts; "refused" as many errors as there are causes, the first with the words.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from springfit.records import read_book
from springfit.records.book import Book
from tests.helpers.books.spoilers import M
from tests.helpers.books.workbook_shapes import LAST, Shape, errors, kept_as_workbook, on, readings

HALF_WAY = 74  # row of the first reading of its third bell

STRUCK, RAISED = InlineFont(strike=True), InlineFont(vertAlign="superscript")


def put(place: str, *texts: object) -> Shape:
    """A cell of the readings, its text in runs where there are several."""
    return on(M.removesuffix(".csv"), lambda sheet: sheet.__setitem__(place, CellRichText(*texts)))  # type: ignore[arg-type]


def row_of(*texts: object, at: int) -> Shape:
    """A row of its own among the readings."""

    def shape(workbook: Workbook) -> None:
        sheet = workbook["measurements"]
        sheet.insert_rows(at)
        for column, text in enumerate(texts, start=1):
            sheet.cell(at, column, text)  # type: ignore[arg-type]

    return shape


def a_second_block(header_row: list[str], scale: float) -> Shape:
    """From half-way a header that says otherwise, and its columns as it says."""

    def shape(workbook: Workbook) -> None:
        sheet = workbook["measurements"]
        rows = [list(row) for row in sheet.iter_rows(min_row=HALF_WAY, values_only=True)]
        sheet.delete_rows(HALF_WAY, sheet.max_row)
        sheet.append(header_row)
        swapped = header_row[4].startswith("value")
        for row in rows:
            row[4], row[5] = row[4] / scale, row[5] / scale  # type: ignore[operator]
            if swapped:
                row[4], row[5] = row[5], row[4]
            sheet.append(row)

    return shape


def extra_column(name: str, value: Callable[[int], str], kind: str = "") -> Shape:
    def do(sheet: Worksheet) -> None:
        sheet["I1"] = name
        for row in range(2, LAST + 1):
            sheet.cell(row, 9, value(row))
            if kind:
                sheet.cell(row, 9).data_type = kind

    return readings(do)


def remarks_twice(sheet: Worksheet) -> None:
    sheet["I1"], sheet["J1"], sheet["J5"] = "remarks", "remarks", "again"


def units_below_and_again(sheet: Worksheet) -> None:
    sheet["E1"], sheet["F1"] = "z", "value"
    names = [one.value for one in sheet[1]]
    for place in (HALF_WAY, 1):
        sheet.insert_rows(place + 1, 1 if place == 1 else 2)
        if place > 1:
            for column, name in enumerate(names, start=1):
                sheet.cell(place + 1, column, name)
        row = place + (1 if place == 1 else 2)
        sheet.cell(row, 5, "mm")
        sheet.cell(row, 6, "mm")


def filled_down(sheet: Worksheet) -> None:
    for row in range(LAST + 1, LAST + 200):
        for column, word in ((2, "trimmed"), (3, "wall"), (4, "tail"), (8, "MIC")):
            sheet.cell(row, column, word)


def formulas(sheet: Worksheet) -> None:
    for row in range(3, 36):
        sheet.cell(row, 1, f"=A{row - 1}")


def stamped(workbook: Workbook) -> None:
    workbook["batches"]["B2"] = datetime.datetime(2025, 3, 1, 14, 30)


READ: dict[str, Shape] = {
    "a helper column of formulas": extra_column("check", lambda row: f"=F{row}*2"),
    "a helper column of #N/A": extra_column("looked up", lambda row: "#N/A", "e"),
    "two columns of remarks": readings(remarks_twice),
    "the header again in other words": row_of(
        "Bell", "Stage", "Kind", "Datum", "Z (mm)", "Value [mm]", "Angle deg", "Gauge", at=HALF_WAY
    ),
    "units below the header, and both again": readings(units_below_and_again),
    "a day with the time that it was typed": stamped,
    "a header of small letters": put("E1", "z", TextBlock(InlineFont(vertAlign="subscript"), "_mm")),
    "a title that names the unit of the columns": row_of("Readings, all sizes in mm", at=1),
    "a remark on a fall of 3 thou": row_of("bell B1-2 fell 3 thou short of it", at=HALF_WAY),
}

DOUBTED: dict[str, tuple[Shape, str]] = {
    "a title that names another unit": (row_of("Readings, all sizes in inches", at=1), "it speaks of inches"),
    "a remark that the unit changes": (
        row_of("from here on all sizes in inches", at=HALF_WAY), "it speaks of inches, and no column is in that"
    ),
    "a cell struck through in its text alone": (put("F20", TextBlock(STRUCK, "14.872")), "struck through"),
}  # fmt: skip

REFUSED: dict[str, tuple[Shape, int, str]] = {
    "a figure struck through before another": (
        put("F20", TextBlock(STRUCK, "1"), "4.872"), 1, "part of the cell is struck through ('14.872' in all)"
    ),
    "a second header with the columns in another order": (
        a_second_block(["bell_id", "stage", "kind", "datum", "value_mm", "z_mm", "angle_deg", "gauge_id"], 1.0),
        3, f"row {HALF_WAY} names the columns otherwise",  # two walls of its rows are sizes below
    ),
    "a second header in inches": (
        a_second_block(["bell_id", "stage", "kind", "datum", "z_in", "value_in", "angle_deg", "gauge_id"], 25.4),
        1, "give the rows below it a sheet of their own",
    ),
    "units of another kind half-way": (row_of(None, None, None, None, "in", "in", at=HALF_WAY), 1, "otherwise"),
    "words under the header": (
        row_of("which", "when", "what", "from", "where", "size", "turn", "tool", at=2), 1, "the row is no record"
    ),
    "columns numbered under the header": (row_of(1, 2, 3, 4, 5, 6, 7, 8, at=2), 1, "the row is no record: '2'"),
    "a sub-heading with the bell's name": (row_of("Bell B1-2", at=38), 1, "'Bell B1-2' is unknown"),
    "a sheet filled down below its readings": (readings(filled_down), 1, "and so on in 199 rows, the last at row 345"),
    "formulas for names": (readings(formulas), 1, "(=A2), and so on in 33 cells of the column"),
    "cells merged across": (
        readings(lambda sheet: sheet.merge_cells("B2:C35")), 1, "kind is blank, and so on in 34 rows"
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", READ)
def test_read(name: str, tmp_path: Path, sound: Book) -> None:
    book, findings = read_book(kept_as_workbook(tmp_path, READ[name]))
    assert book.digest == sound.digest
    assert not [finding.line() for finding in findings if finding.grade == "doubt"]


@pytest.mark.parametrize("name", DOUBTED)
def test_doubted(name: str, tmp_path: Path, sound: Book) -> None:
    shape, words = DOUBTED[name]
    book, findings = read_book(kept_as_workbook(tmp_path, shape))
    doubts = [finding.line() for finding in findings if finding.grade == "doubt"]
    assert book.digest == sound.digest
    assert len(doubts) == 1 and words in doubts[0]


@pytest.mark.parametrize("name", REFUSED)
def test_refused_in_one_sentence_a_cause(name: str, tmp_path: Path) -> None:
    shape, causes, words = REFUSED[name]
    lines = errors(kept_as_workbook(tmp_path, shape))
    assert len(lines) == causes and any(words in line for line in lines), lines
