"""A book that is one workbook: added to, corrected and taken back; everything else in it stays byte for byte."""

from __future__ import annotations

import csv
import datetime
import zipfile
from pathlib import Path

import openpyxl
import pytest
from openpyxl.styles import Font, PatternFill

from springfit.cli import main
from springfit.findings import BookError
from springfit.records import add_sheets, read_book
from springfit.records.editing.undoing import undo_addition
from tests.helpers.books.books_to_add import batch_b3, slipped, whole_digest
from tests.helpers.books.small_book import sheets, write
from tests.helpers.books.small_workbook import as_workbook


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """The small book without B3 as a shop keeps it: coloured headers, a format for numbers, a sheet of its own."""
    (tmp_path / "kept").mkdir()
    path = tmp_path / "kept" / "shop.xlsx"
    workbook = as_workbook(path, batch_b3()[0])
    notes = workbook["Notes"]
    notes["A1"], notes["A2"] = "bells so far", "=COUNTA(bells!A2:A99)"
    readings = workbook["measurements"]
    for cell in readings[1]:
        cell.font, cell.fill = Font(bold=True), PatternFill("solid", fgColor="FFF2CC")
    for row in readings.iter_rows(min_row=2, min_col=5, max_col=6):
        for cell in row:
            cell.number_format = "0.000"
    for row in range(readings.max_row + 1, readings.max_row + 60):  # formatted in advance, nothing in it
        readings.cell(row, 6).number_format = "0.00"
    readings.column_dimensions["F"].width = 17
    workbook.calculation.fullCalcOnLoad = None  # as a spreadsheet writes it
    workbook.save(path)
    return path


def parts(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def beside(path: Path) -> dict[str, bytes]:
    """Every file of the workbook's folder but the lock."""
    files = (file for file in path.parent.rglob("*") if file.is_file() and not file.name.endswith("-lock"))
    return {str(file.relative_to(path.parent)): file.read_bytes() for file in files}


def test_the_merged_workbook_is_the_whole_book_and_the_rest_of_it_is_untouched(
    book: Path, typed: Path, tmp_path: Path
) -> None:
    before, bytes_before = parts(book), book.read_bytes()
    done = add_sheets(book, typed)
    assert done.added == {"batches": 1, "bells": 1, "measurements": 36} and done.files == ("shop.xlsx",)
    assert read_book(book)[0].digest == whole_digest(tmp_path)
    after = parts(book)
    assert after.keys() == before.keys()
    changed = {name for name in after if after[name] != before[name]}
    touched = {name for name in changed if "worksheets/" in name}
    assert len(touched) == 3 and changed - touched == {"xl/workbook.xml"}  # formulas are to be computed again
    kept = book.with_name("shop.xlsx.replaced") / "0001"
    assert (kept / "before.xlsx").read_bytes() == bytes_before
    assert "1 rows of batches" in (kept / "what-was-added.txt").read_text()


def test_another_program_reads_what_was_added_in_the_formats_of_the_rows_above(book: Path, typed: Path) -> None:
    rows = openpyxl.load_workbook(book)["measurements"].max_row
    add_sheets(book, typed)
    workbook = openpyxl.load_workbook(book)
    readings, batches = workbook["measurements"], workbook["batches"]
    first = next(row for row in range(2, rows + 1) if readings.cell(row, 1).value == "B3-1")
    assert readings.cell(first - 1, 1).value == "B1-1", "straight behind the last row, not behind the formatted ones"
    assert readings.cell(first, 5).number_format == "0.000" and isinstance(readings.cell(first, 5).value, int | float)
    assert readings.cell(first, 6).number_format == "0.00", "a cell that had a format keeps it"
    assert readings["A1"].font.bold and readings.column_dimensions["F"].width == 17
    day = next(row[1] for row in batches.iter_rows(values_only=True) if row[0] == "B3")
    assert day == datetime.datetime(2025, 6, 1)
    assert workbook["Notes"]["A2"].value == "=COUNTA(bells!A2:A99)"
    whole = list(openpyxl.load_workbook(book, read_only=True)["measurements"].iter_rows(values_only=True))
    assert sum(row[0] == "B3-1" for row in whole) == 36


def test_adding_again_and_looking_only_change_nothing(book: Path, typed: Path) -> None:
    start = beside(book)
    assert add_sheets(book, typed, dry_run=True).lines()[0] == "would add 1 rows to batches"
    assert beside(book) == start
    add_sheets(book, typed)
    once = beside(book)
    assert add_sheets(book, typed).files == ()
    assert beside(book) == once


def test_other_units_and_a_new_table_become_sheets_of_their_own(tmp_path: Path, book: Path) -> None:
    in_inches = batch_b3()[1]
    header, *rows = in_inches["measurements.csv"]
    in_inches["measurements.csv"] = [
        [name.replace("_mm", "_in") for name in header],
        *([*r[:4], repr(float(r[4]) / 25.4), repr(float(r[5]) / 25.4), *r[6:]] for r in rows),
    ]
    in_inches["specimens.csv"] = [["specimen_id", "family", "note"], ["S1", "old & <dear>", "=1+1"]]
    add_sheets(book, write(tmp_path / "inches", in_inches))
    workbook = openpyxl.load_workbook(book)
    assert workbook.sheetnames[-2:] == ["measurements-02", "specimens"]
    assert workbook["specimens"]["B2"].value == "old & <dear>"
    read = read_book(book)[0]
    assert read.specimens["note"].tolist() == ["=1+1"]
    whole = read_book(write(tmp_path / "whole", sheets()))[0]
    assert read.measurements["value_mm"].sum() == pytest.approx(whole.measurements["value_mm"].sum(), abs=1e-6)
    undo_addition(book)
    assert openpyxl.load_workbook(book).sheetnames == [*workbook.sheetnames[:-2]]


def test_a_corrected_sheet_replaces_cells_and_the_journal_says_so(tmp_path: Path) -> None:
    book = tmp_path / "shop.xlsx"
    as_workbook(book, slipped())
    right = sheets()
    rows = right["measurements.csv"]
    reading = next(row for row in rows if row[0] == "B1-1" and row[4] == "290")
    batch = next(row for row in right["batches.csv"] if row[0] == "B2")
    typed = write(tmp_path / "typed", {
        "measurements.csv": [rows[0], reading], "batches.csv": [right["batches.csv"][0], batch],
    })  # fmt: skip
    done = add_sheets(book, typed, replace_old=True, reason="misread")
    assert {(c.file, c.old) for c in done.replaced} == {
        ("shop.xlsx[measurements]", "35"),
        ("shop.xlsx[batches]", "0.6"),
    }
    assert read_book(book)[0].digest == whole_digest(tmp_path)
    journal = list(csv.reader((tmp_path / "shop.xlsx.journal.csv").read_text().splitlines()))
    assert len(journal) == 3 and all(row[1] == "replaced" and "misread" in row[4] for row in journal[1:])
    undo_addition(book)
    assert read_book(book)[0].bells["bell_id"].tolist() and len((tmp_path / "shop.xlsx.journal.csv").read_text()) > 60


def test_undo_takes_back_one_addition_after_another(book: Path, typed: Path, tmp_path: Path) -> None:
    begin = beside(book)
    gauge = {"gauges.csv": [["gauge_id", "what", "repeatability_mm", "station_mm"], ["NEW", "caliper", "0.02", "0.2"]]}
    add_sheets(book, write(tmp_path / "more", gauge))
    once = beside(book)
    add_sheets(book, typed)
    assert main(["undo", str(book)]) == 0
    assert beside(book) == once
    undo_addition(book)
    assert beside(book) == begin
    with pytest.raises(BookError, match="nothing was added"):
        undo_addition(book)


def test_what_was_changed_by_hand_since_is_not_lost(book: Path, typed: Path) -> None:
    add_sheets(book, typed)
    workbook = openpyxl.load_workbook(book)
    workbook["bells"]["F2"] = "looked at"
    workbook.save(book)
    by_hand = book.read_bytes()
    with pytest.raises(BookError, match="was changed since"):
        undo_addition(book)
    assert book.read_bytes() == by_hand


@pytest.mark.parametrize("mark", ["~$shop.xlsx", ".~lock.shop.xlsx#"])
def test_one_that_is_open_in_a_spreadsheet_is_not_written(mark: str, book: Path, typed: Path) -> None:
    (book.parent / mark).write_bytes(b"")
    before = book.read_bytes()
    with pytest.raises(BookError, match="open in a spreadsheet"):
        add_sheets(book, typed)
    assert book.read_bytes() == before
