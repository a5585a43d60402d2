"""Single cells and columns of a third shop, once misread: fractions, days, words beside a name, what parts cells."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.workbook import Workbook

from springfit.records import check_book, read_book
from springfit.records.book import Book
from tests.helpers.books.small_book import Sheets, change, sheets, write
from tests.helpers.books.spoilers import B, M, P, cell, header, rewrite, rewrite_all
from tests.helpers.books.workbook_shapes import LAST, errors, kept_as_workbook, readings

STRUCK, RAISED = InlineFont(strike=True), InlineFont(vertAlign="superscript")


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
