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
from small_book import Sheets, change, sheets, write
from spoilers import B, M, P, cell, header, rewrite, rewrite_all
from test_sheets_of_a_shop import Shape, kept_as_workbook, on

from springfit.findings import BookError
from springfit.records import check_book, read_book
from springfit.records.book import Book

LAST = 146  # row of the last reading of the small book
HALF_WAY = 74  # row of the first reading of its third bell

STRUCK, RAISED = InlineFont(strike=True), InlineFont(vertAlign="superscript")


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Book:
    return read_book(write(tmp_path_factory.mktemp("sound") / "book", sheets()))[0]


def put(place: str, *texts: object) -> Shape:
    """A cell of the readings, its text in runs where there are several."""
    return on(M.removesuffix(".csv"), lambda sheet: sheet.__setitem__(place, CellRichText(*texts)))  # type: ignore[arg-type]


def readings(do: Callable[[Worksheet], object]) -> Shape:
    return on(M.removesuffix(".csv"), do)


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


def errors(path: Path) -> list[str]:
    with pytest.raises(BookError) as refused:
        read_book(path)
    return [finding.line() for finding in refused.value.findings if finding.grade == "error"]


def in_inches(new: str) -> Sheets:
    """The book with its readings in inches, one station as `new`."""
    book = sheets()
    for column in ("z_mm", "value_mm"):
        header(M, column, f"{column[:-3]}_in")(book)
        change(book[M], f"{column[:-3]}_in", lambda mm: f"{float(mm) / 25.4:.6f}")
    cell(M, 10, "z_in", new)(book)
    return book


def test_a_raised_fraction_is_read_as_it_shows(tmp_path: Path) -> None:
    def raised(workbook: Workbook) -> None:
        sheet = workbook["measurements"]
        sheet["E1"], sheet["F1"] = "z_in", "value_in"
        for row in range(2, LAST + 1):
            for column in (5, 6):
                sheet.cell(row, column).value /= 25.4
        sheet["E10"] = CellRichText("4", TextBlock(RAISED, "3"), "/", "4")

    path = kept_as_workbook(tmp_path, raised)
    assert read_book(path)[0].measurements["z_mm"][8] == pytest.approx(4.75 * 25.4)


@pytest.mark.parametrize(("typed", "remedy"), [("23/8", "as 2-3/8"), ("16/16", "fraction of one or more")])
def test_a_fraction_of_one_or_more_is_refused(typed: str, remedy: str, tmp_path: Path) -> None:
    lines = errors(write(tmp_path / "book", in_inches(typed)))
    assert len(lines) == 1 and remedy in lines[0]


def test_one_size_merged_over_two_rows_is_doubted(tmp_path: Path) -> None:
    findings = check_book(kept_as_workbook(tmp_path, readings(lambda sheet: sheet.merge_cells("F10:F11"))))
    assert [(f.row, f.column) for f in findings if f.grade == "doubt"] == [(11, "value_mm")]


FRACTIONS = ["0", "1/4", "1/2", "3/4", "1", "1-1/4", "1-1/2", "2"]


@pytest.mark.parametrize(
    ("day", "place", "inches"),
    [("1/1/2004", 5, 1.25), ("01.01.2002", 6, 1.5), ("1/4/2026", 1, 0.25), ("3/8/2001", 5, None), ("38021", 1, None)],
)
def test_a_fraction_shown_as_a_whole_date(day: str, place: int, inches: float | None, tmp_path: Path) -> None:
    """As a spreadsheet saves as CSV what it shows of 1-1/4."""
    book = sheets()
    rows = [["OAK-T", z, f"{0.5 + n / 16}"] for n, z in enumerate(FRACTIONS)]
    rows[place][1] = day
    book["target_profile.csv"] = [["target_id", "z_in", "diameter_in"], *rows]
    folder = write(tmp_path / "book", book)
    if inches is None:
        assert "cells to text" in errors(folder)[0]
    else:
        assert read_book(folder)[0].target_profile["z_mm"][place] == pytest.approx(25.4 * inches)


@pytest.mark.parametrize("typed", ["2025/03/01", "2025.3.1", "2025-3-1", "2025-03-01 14:30", "2025-03-01T07:05:30"])
def test_a_day_that_begins_with_its_year(typed: str, tmp_path: Path, sound: Book) -> None:
    book = sheets()
    cell(B, 2, "spun_on", typed)(book)
    assert read_book(write(tmp_path / "book", book))[0].digest == sound.digest


@pytest.mark.parametrize(
    "new", ["diameter_mm (radius)", "diameter_mm (x 2)", "diameter mm [1/100]", "Diameter (outside) mm"]
)
def test_words_beside_a_column_s_name_are_doubted(new: str, tmp_path: Path) -> None:
    book = sheets()
    header(P, "diameter_mm", new)(book)
    doubts = [f for f in check_book(write(tmp_path / "book", book)) if f.grade == "doubt"]
    assert [(f.file, f.row, f.column) for f in doubts] == [(P, 1, "diameter_mm")]


@pytest.mark.parametrize("form", [lambda d: d.replace(b",", b"|"), lambda d: b"sep=|\n" + d.replace(b",", b"|")])
def test_upright_strokes_part_cells(form: Callable[[bytes], bytes], tmp_path: Path, sound: Book) -> None:
    folder = write(tmp_path / "book", sheets())
    rewrite_all(form)(folder)
    assert read_book(folder)[0].digest == sound.digest


@pytest.mark.parametrize("form", [lambda d: d.replace(b",", b"   "), lambda d: b"sep=;\n" + d])
def test_cells_that_nothing_parts_are_told_so(form: Callable[[bytes], bytes], tmp_path: Path) -> None:
    folder = write(tmp_path / "book", sheets())
    rewrite(M, form)(folder)
    lines = errors(folder)
    assert len(lines) == 1 and "stand in one cell" in lines[0] and "CSV UTF-8" in lines[0]


@pytest.mark.parametrize(
    ("spoil", "causes"),
    [
        (lambda b: change(b[M], "kind", lambda k: k.replace("outside_diameter", "OD")), 1),
        (lambda b: change(b[M], "bell_id", str.lower), 4),  # of each bell one
        (lambda b: change(b["mandrels.csv"], "revision", lambda r: f"rev {r}"), 3),  # and nothing of days and steel
        (lambda b: b[M].append(["<<<<<<< mine"]), 1),
    ],
)
def test_what_is_wrong_throughout_is_said_once(spoil: Callable[[Sheets], None], causes: int, tmp_path: Path) -> None:
    book = sheets()
    spoil(book)
    lines = errors(write(tmp_path / "book", book))
    assert len(lines) == causes, lines


def test_a_workbook_that_cannot_be_read_is_said_to_be_nothing_else(tmp_path: Path) -> None:
    (tmp_path / "book.xlsx").write_bytes(b"PK" + bytes(100))
    found = [finding.what for finding in check_book(tmp_path / "book.xlsx") if finding.grade == "error"]
    assert found == ["the file is not an .xlsx workbook"]
