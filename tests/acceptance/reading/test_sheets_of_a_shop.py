"""Kinds of sheets that a shop produces: each read as it was meant, or refused or doubted aloud; never silently wrong.

The names of the cases are the table: `pytest -v` on this file prints it. "read" has to give the clean book cell for
cell, "told" has to say by file what was found and what to do, whether it is refused or doubted.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl.comments import Comment
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from springfit.records.book import Book
from tests.helpers.books.small_book import Sheets, change
from tests.helpers.books.spoilers import B, M, cell, header, nothing, rewrite, rewrite_all, spoiled
from tests.helpers.books.workbook_shapes import Shape, each, judged, kept_as_workbook, on, put


def title_merged(sheet: Worksheet) -> None:
    sheet.insert_rows(1, 3)
    sheet["A1"] = "The Shop, readings of the season"
    sheet.merge_cells("A1:D1")


def merged_names(workbook: Workbook) -> None:
    sheet, first = workbook["measurements"], 2
    for row in range(3, sheet.max_row + 2):
        if sheet.cell(row, 1).value != sheet.cell(first, 1).value:
            if row - 1 > first:
                sheet.merge_cells(start_row=first, end_row=row - 1, start_column=1, end_column=1)
            first = row


def as_text(sheet: Worksheet) -> None:
    for row in sheet.iter_rows(min_row=2):
        for one in row:
            if isinstance(one.value, int | float):
                one.value = f"{one.value:.10g}"
                one.number_format = "@"


def moved_in(sheet: Worksheet) -> None:
    sheet.insert_cols(1, 2)
    sheet.insert_rows(1, 4)


def beside(sheet: Worksheet) -> None:
    sheet.cell(3, sheet.max_column + 3, "ask about this")


def hidden_rows(sheet: Worksheet) -> None:
    sheet.row_dimensions[3].hidden = True


def sums(sheet: Worksheet) -> None:
    last = sheet.max_row
    sheet.cell(last + 2, 1, "Average")
    sheet.cell(last + 2, 6, f"=AVERAGE(F2:F{last})")


def days_as_text(sheet: Worksheet) -> None:
    for row in sheet.iter_rows(min_row=2):
        for one in row:
            if isinstance(one.value, datetime.date):
                one.value = one.value.isoformat()[:10]


def from_1904(workbook: Workbook) -> None:
    workbook.epoch = CALENDAR_MAC_1904


def a_table_beneath(workbook: Workbook) -> None:
    rows = list(workbook["gauges"].iter_rows(values_only=True))
    workbook.remove(workbook["gauges"])
    for row in ((), *rows):
        workbook["bells"].append(row)


def a_table_beside(workbook: Workbook) -> None:
    rows = list(workbook["gauges"].iter_rows(values_only=True))
    workbook.remove(workbook["gauges"])
    for number, row in enumerate(rows, start=1):
        for column, value in enumerate(row, start=9):
            workbook["bells"].cell(number, column, value)


def named_as_people_do(sheet: Worksheet) -> None:
    title, sheet.title = sheet.title.replace("_", " ").title(), "for a moment"  # letter case alone is no new name
    sheet.title = title


def percent(sheet: Worksheet) -> None:
    for row in sheet.iter_rows(min_row=2, min_col=6, max_col=6):
        row[0].number_format = "0.0%"


def named_once(sheet: Worksheet) -> None:
    before = None
    for row in range(2, sheet.max_row + 1):
        value = sheet.cell(row, 1).value
        if value == before:
            sheet.cell(row, 1).value = None
        before = value


WORKBOOKS: dict[str, tuple[Shape, str]] = {
    "a merged title above every table": (each(title_merged), "read"),
    "names merged down a sitting": (merged_names, "read"),
    "numbers as text": (each(as_text), "read"),
    "tables that begin at C5": (each(moved_in), "read"),
    "a remark beside the table": (each(beside), "read"),
    "hidden rows": (on("measurements", hidden_rows), "read"),
    "sums underneath, computed": (on("measurements", sums), "read"),
    "a filter": (on("bells", lambda sheet: setattr(sheet.auto_filter, "ref", "A1:F5")), "read"),
    "panes that stand still": (each(lambda sheet: setattr(sheet, "freeze_panes", "B2")), "read"),
    "a comment on a cell": (
        on("bells", lambda s: setattr(s["A2"], "comment", Comment("looked at again", "me"))), "read"
    ),
    "sheet names with capitals and blanks": (each(named_as_people_do), "read"),
    "days as text": (each(days_as_text), "read"),
    "days counted from 1904": (from_1904, "read"),
    "values shown as per cent": (on("measurements", percent), "read"),
    "a sheet of sketches": (lambda workbook: workbook.create_sheet("sketch").append(["a", 1]), "read"),
    "a name only in the first row of its sitting": (on("measurements", named_once), "told"),
    "two tables one under the other": (a_table_beneath, "told"),
    "two tables side by side": (a_table_beside, "told"),
    "a formula for a value": (put("measurements", "F5", "=12+1"), "told"),
    "#N/A": (put("measurements", "F5", "#N/A"), "told"),
    "a size that became a day": (put("measurements", "F5", datetime.datetime(2025, 3, 8)), "told"),
    "a decimal comma as text": (put("measurements", "F5", "13,3"), "told"),
    "a struck sheet name": (lambda workbook: setattr(workbook["bells"], "title", "bels"), "told"),
    "an empty sheet of a table": (on("gauges", lambda sheet: sheet.delete_rows(1, 99)), "told"),
}  # fmt: skip


def value(new: str) -> Callable[[Sheets], None]:
    return cell(M, 20, "value_mm", new)


def day(new: str) -> Callable[[Sheets], None]:
    return cell(B, 2, "spun_on", new)


def without_names(book: Sheets) -> None:
    for row in book[M][3:]:
        row[0] = ""


def swapped_headers(book: Sheets) -> None:
    z, size = (book[M][0].index(name) for name in ("z_mm", "value_mm"))
    book[M][0][z], book[M][0][size] = book[M][0][size], book[M][0][z]


def both_units(book: Sheets) -> None:
    book[M][0][book[M][0].index("value_mm")] = "value_mm (in)"


def quoted(data: bytes) -> bytes:
    lines = data.decode().splitlines()
    return "\n".join(",".join(f'"{part}"' for part in line.split(",")) for line in lines).encode()


FOLDERS: dict[str, tuple[Callable[[Sheets], None], Callable[[Path], None], str]] = {
    "every cell in quotes": (nothing, rewrite(M, quoted), "read"),
    "commas behind every row": (nothing, rewrite_all(lambda d: d.replace(b"\n", b",,,\n")), "read"),
    "a line with # above": (nothing, rewrite_all(lambda d: b"# typed by hand in May\n" + d), "read"),
    "printed at the foot": (nothing, rewrite(M, lambda d: d + b"printed by the shop on Tuesday,,,,,,,\n"), "read"),
    "numbers like 1.2E+01": (lambda b: change(b[M], "z_mm", lambda z: f"{float(z):.6E}"), nothing, "read"),
    "zeros before numbers": (lambda b: change(b[M], "z_mm", lambda z: f"0{z}"), nothing, "read"),
    "a plus before numbers": (lambda b: change(b[M], "z_mm", lambda z: f"+{z}"), nothing, "read"),
    "about (~)": (value("~19.3"), nothing, "told"),
    "a question mark": (value("19.3?"), nothing, "told"),
    "less than": (value("<0.03"), nothing, "told"),
    "a range": (value("19.3-19.5"), nothing, "told"),
    "two values in a cell": (value("19.3/19.4"), nothing, "told"),
    "the unit in the cell": (value("19.3 mm"), nothing, "told"),
    "thousands in a cell": (value("1,100.5"), nothing, "told"),
    "the letter O for nought": (value("19.3O"), nothing, "told"),
    "a dash for not read": (value("-"), nothing, "told"),
    "n/a for a number": (cell(B, 2, "wall_mm", "n/a"), nothing, "told"),
    "ditto": (cell(M, 20, "bell_id", '"'), nothing, "told"),
    "a name in small letters": (cell(M, 20, "bell_id", "b1-1"), nothing, "told"),
    "a name with a long dash": (cell(M, 20, "bell_id", "B1\u20131"), nothing, "told"),
    "a name with a star": (cell(M, 20, "bell_id", "B1-1*"), nothing, "told"),
    "names only above a sitting": (without_names, nothing, "told"),
    "the day as 1 March 2025": (day("1 March 2025"), nothing, "told"),
    "the day as 01.03.25": (day("01.03.25"), nothing, "told"),
    "the day as Mar-25": (day("Mar-25"), nothing, "told"),
    "a column twice": (lambda b: [row.append(row[5]) for row in b[M]] and None, nothing, "told"),
    "a header misspelt": (header(M, "value_mm", "vaule_mm"), nothing, "told"),
    "a header without unit": (header(M, "value_mm", "value"), nothing, "told"),
    "a header of two units": (both_units, nothing, "told"),
    "two headers exchanged": (swapped_headers, nothing, "told"),
    "a kind nobody knows": (cell(M, 20, "kind", "OD"), nothing, "told"),
    "a stage left blank": (cell(M, 20, "stage", ""), nothing, "told"),
}  # fmt: skip


def test_there_are_more_than_forty_of_them() -> None:
    assert len(WORKBOOKS) + len(FOLDERS) >= 40


@pytest.mark.parametrize("name", WORKBOOKS)
def test_a_workbook_of_a_shop(name: str, tmp_path: Path, sound: Book) -> None:
    shape, expected = WORKBOOKS[name]
    path = kept_as_workbook(tmp_path, shape)
    assert judged(path, sound)[0] == expected, judged(path, sound)[1]


@pytest.mark.parametrize("name", FOLDERS)
def test_a_folder_of_a_shop(name: str, tmp_path: Path, sound: Book) -> None:
    spoil, then, expected = FOLDERS[name]
    folder = spoiled(tmp_path / "book", spoil, then)
    assert judged(folder, sound)[0] == expected, judged(folder, sound)[1]
