"""Thirty more kinds of sheets, as another shop keeps them: read as meant, or told aloud by file, row and column.

The names of the cases are the table: `pytest -v` on this file prints it.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl.chart import LineChart, Reference
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from springfit.findings import BookError
from springfit.records import read_book
from springfit.records.book import Book
from tests.helpers.books.small_book import Sheets, change, sheets, write
from tests.helpers.books.spoilers import B, M, P, cell, header, nothing, rewrite_all, spoiled
from tests.helpers.books.workbook_shapes import Shape, each, judged, kept_as_workbook, on, put


def groups_above(sheet: Worksheet) -> None:
    sheet.insert_rows(1)
    sheet["A1"], sheet["C1"] = "what it is", "what was read"
    sheet.merge_cells("A1:B1")


def blank_column(sheet: Worksheet) -> None:
    sheet.insert_cols(3)


def reversed_columns(sheet: Worksheet) -> None:
    rows = [list(row)[::-1] for row in sheet.iter_rows(values_only=True)]
    sheet.delete_rows(1, sheet.max_row)
    for row in rows:
        sheet.append(row)


def numbered(sheet: Worksheet) -> None:
    sheet.insert_cols(1)
    for number in range(1, sheet.max_row + 1):
        sheet.cell(number, 1, "No." if number == 1 else number - 1)


def a_chart_between(workbook: Workbook) -> None:
    chart = LineChart()
    chart.add_data(Reference(workbook["gauges"], min_col=3, min_row=1, max_row=3))
    workbook.create_chartsheet("the flare", 2).add_chart(chart)


def serial_days(sheet: Worksheet) -> None:
    for row in sheet.iter_rows(min_row=2):
        for one in row:
            if isinstance(one.value, datetime.date):
                one.value = (one.value - datetime.datetime(1899, 12, 30)).days  # type: ignore[operator]
                one.number_format = "General"


def names_as_numbers(workbook: Workbook) -> None:
    """Bells called 11, 12, ...: numbers in one sheet, `11.0` typed as text in the other."""
    numbers: dict[object, int] = {}
    for row in range(2, workbook["bells"].max_row + 1):
        numbers[workbook["bells"].cell(row, 1).value] = 10 + row
        workbook["bells"].cell(row, 1, 10 + row)
    for row in range(2, workbook["measurements"].max_row + 1):
        of = workbook["measurements"].cell(row, 1)
        of.value = f"{numbers[of.value]}.0"


def bells_across(workbook: Workbook) -> None:
    """A station a row, a bell a column."""
    sheet = workbook["measurements"]
    found: dict[object, dict[object, object]] = {}
    for bell, _, kind, _, z, value, *_ in sheet.iter_rows(min_row=2, values_only=True):
        if kind == "outside_diameter":
            found.setdefault(z, {})[bell] = value
    sheet.delete_rows(1, sheet.max_row)
    bells = ["B1-1", "B1-2", "B2-1", "B3-1"]
    sheet.append(["z_mm", *bells])
    for z, values in found.items():
        sheet.append([z, *(values.get(bell) for bell in bells)])


def rim_first(sheet: Worksheet) -> None:
    rows = list(sheet.iter_rows(min_row=2, values_only=True))
    sheet.delete_rows(2, sheet.max_row)
    for row in sorted(rows, key=lambda row: (str(row[0]), row[1], -row[2])):
        sheet.append(row)


def a_hidden_column(sheet: Worksheet) -> None:
    sheet.column_dimensions["F"].hidden = True


def two_decimals(sheet: Worksheet) -> None:
    for row in sheet.iter_rows(min_row=2, min_col=6, max_col=6):
        row[0].number_format = "0.00"


def notes_behind(sheet: Worksheet) -> None:
    last = sheet.max_row
    sheet.cell(last + 3, 1, "Notes")
    sheet.cell(last + 4, 1, "1) bell B1-2 fell off the bench before it was read")
    sheet.cell(last + 5, 2, "2) second gauge borrowed")


def pasted_twice(sheet: Worksheet) -> None:
    for row in list(sheet.iter_rows(min_row=2, values_only=True)):
        sheet.append(row)


WORKBOOKS: dict[str, tuple[Shape, str]] = {
    "groups of columns named above the header": (each(groups_above), "read"),
    "an empty column between": (each(blank_column), "read"),
    "columns from right to left": (each(reversed_columns), "read"),
    "rows numbered": (each(numbered), "read"),
    "a chart for a sheet in between": (a_chart_between, "read"),
    "two decimals shown of four": (on("measurements", two_decimals), "read"),
    "a hidden column": (on("measurements", a_hidden_column), "read"),
    "numbered notes underneath": (on("measurements", notes_behind), "told"),
    "days as bare serial numbers": (on("batches", serial_days), "told"),
    "bells named by numbers, 12 and 12.0": (names_as_numbers, "told"),
    "a station a row, a bell a column": (bells_across, "told"),
    "stations from the rim to the tail": (on("mandrel_profile", rim_first), "told"),
    "a time of day for a size": (put("measurements", "F5", datetime.time(10, 30)), "told"),
    "TRUE for a word": (put("bells", "E2", True), "told"),
    "a clearance below nought": (put("measurements", "F37", -0.03), "told"),
    "the table as pasted twice": (on("gauges", pasted_twice), "told"),
}  # fmt: skip


def value(new: str) -> Callable[[Sheets], None]:
    return cell(M, 20, "value_mm", new)


def in_inches(new: str) -> Callable[[Sheets], None]:
    """The readings in inches, one station as `new`."""

    def spoil(book: Sheets) -> None:
        header(M, "z_mm", "z_in")(book)
        header(M, "value_mm", "value_in")(book)
        for column in ("z_in", "value_in"):
            change(book[M], column, lambda mm: f"{float(mm) / 25.4:.6f}")
        cell(M, 10, "z_in", new)(book)

    return spoil


def units_that_differ(book: Sheets) -> None:
    book[M].insert(1, ["in" if name.endswith("_mm") else "" for name in book[M][0]])


def revisions_by_letter(book: Sheets) -> None:
    change(book["mandrels.csv"], "revision", lambda number: "AB"[int(number)])
    change(book[P], "revision", lambda number: "AB"[int(number)])


def short_rows(data: bytes) -> bytes:
    return b"\n".join(line.rstrip(b",") for line in data.splitlines())


FOLDERS: dict[str, tuple[Callable[[Sheets], None], Callable[[Path], None], str]] = {
    "rows without their last empty cells": (nothing, rewrite_all(short_rows), "read"),
    "a hard blank behind every number": (lambda b: change(b[M], "value_mm", lambda v: f"{v}\u00a0"), nothing, "read"),
    "one header word twice, in two spellings": (
        lambda b: [row.append("z (mm)" if row is b[M][0] else row[4]) for row in b[M]] and None, nothing, "told"
    ),
    "a row of units that contradicts the header": (units_that_differ, nothing, "told"),
    "a thin blank for thousands": (value("1\u2009018.9"), nothing, "told"),
    "an apostrophe for thousands": (value("1'018.9"), nothing, "told"),
    "decimal commas in one column only": (
        lambda b: change(b[M], "value_mm", lambda v: v.replace(".", ",")), nothing, "told"
    ),
    "a diameter sign": (value("\u00d818.963"), nothing, "told"),
    "R for a radius": (value("R9.4815"), nothing, "told"),
    "a loss in brackets": (value("(18.963)"), nothing, "told"),
    "a fraction in mm": (value("18 3/4"), nothing, "told"),
    "feet and inches": (in_inches("1'-2 3/8\""), nothing, "told"),
    "a foot mark left open": (in_inches("2'-"), nothing, "told"),
    "a fraction over nought": (in_inches("2 3/0"), nothing, "told"),
    "a fraction of three parts": (in_inches("2/3/8"), nothing, "told"),
    "revisions called A and B": (revisions_by_letter, nothing, "told"),
    "a bell whose name the spreadsheet made 1.00E+03": (cell(M, 20, "bell_id", "1.00E+03"), nothing, "told"),
    "degrees with their sign": (cell(M, 20, "angle_deg", "90\u00b0"), nothing, "told"),
    "a day of two figures a year": (cell(B, 2, "spun_on", "25-03-01"), nothing, "told"),
    "nil for a wall": (cell(B, 2, "wall_mm", "nil"), nothing, "told"),
}  # fmt: skip


@pytest.mark.parametrize("name", WORKBOOKS)
def test_a_workbook_of_another_shop(name: str, tmp_path: Path, sound: Book) -> None:
    shape, expected = WORKBOOKS[name]
    path = kept_as_workbook(tmp_path, shape)
    found, said = judged(path, sound)
    assert found == expected, said
    print(f"{name}: {said.splitlines()[0]}")


@pytest.mark.parametrize("name", FOLDERS)
def test_a_folder_of_another_shop(name: str, tmp_path: Path, sound: Book) -> None:
    spoil, then, expected = FOLDERS[name]
    folder = spoiled(tmp_path / "book", spoil, then)
    found, said = judged(folder, sound)
    assert found == expected, said
    print(f"{name}: {said.splitlines()[0]}")


@pytest.mark.parametrize("typed", ["2 3/8", '2-3/8"', "2\u00a03/8", "2 \u215c", "2.375\u2033", " 2  3/8 in", "+2.375"])
def test_a_station_in_inches_however_it_is_typed(typed: str, tmp_path: Path) -> None:
    plain, other = sheets(), sheets()
    in_inches("2.375")(plain)
    in_inches(typed)(other)
    expected = read_book(write(tmp_path / "plain", plain))[0].digest
    try:
        assert read_book(write(tmp_path / "typed", other))[0].digest == expected
    except BookError as refused:
        assert typed == " 2  3/8 in", refused.findings[0].line()
