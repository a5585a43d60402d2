"""What lies in a book beside its sheets is said aloud; copies are told once; a book from anybody does no harm."""

from __future__ import annotations

import datetime
import json
import random
import shutil
import time
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from openpyxl.workbook import Workbook

from springfit.cli import main
from springfit.findings import Finding
from springfit.records import add_sheets, check_book
from springfit.records.editing.undoing import undo_addition
from tests.helpers.books.small_book import sheets, write
from tests.helpers.books.small_workbook import as_workbook, zipped
from tests.helpers.books.spoilers import M
from tests.helpers.books.workbook_shapes import kept_as_workbook

LONG = 8_000_000  # letters of one cell: it packs to a few MB, and no spreadsheet holds it
SECONDS, MEGABYTES = 10.0, 500.0  # as asked of whatever is refused


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return write(tmp_path / "book", sheets())


def told(path: Path, grade: str = "doubt") -> list[Finding]:
    return [finding for finding in check_book(path) if finding.grade == grade]


def moved(book: Path, name: str) -> None:
    (book / name).parent.mkdir(parents=True, exist_ok=True)
    shutil.copy(book / M, book / name)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("july.csv", "july.csv"),
        ("2025/measurements-july.csv", "2025/"),
        ("2025/july/measurements.csv", "2025/"),
        ("all.xlsb", "all.xlsb"),
    ],
)
def test_what_may_hold_records_is_doubted(name: str, said: str, book: Path) -> None:
    moved(book, name)
    assert [finding.file for finding in told(book)] == [said]


def test_a_name_that_leads_to_no_file_is_said(book: Path) -> None:
    (book / "measurements-may.csv").symlink_to("nowhere.csv")
    assert [(finding.file, "no file" in finding.what) for finding in told(book)] == [("measurements-may.csv", True)]


def test_other_folders_are_noted_and_no_more(book: Path) -> None:
    moved(book, "reports/cut_table.csv")
    assert "reports/" in [finding.file for finding in told(book, "note")]
    assert not told(book)


def test_a_sheet_under_another_title_is_known_by_its_columns(tmp_path: Path) -> None:
    def july(workbook: Workbook) -> None:
        workbook.copy_worksheet(workbook["measurements"]).title = "July"
        workbook.create_sheet("lists").append(["bell", "gauge", "z"])

    found = told(kept_as_workbook(tmp_path, july))
    assert [(finding.file, finding.expected[:12]) for finding in found] == [("book.xlsx[July]", "measurements")]


def test_names_that_the_spreadsheet_made_days_of_are_doubted(tmp_path: Path) -> None:
    def days(workbook: Workbook) -> None:
        for title in ("bells", "measurements"):
            for row in range(2, workbook[title].max_row + 1):
                one = workbook[title].cell(row, 1)
                batch, number = str(one.value)[1:].split("-")
                one.value = datetime.datetime(2025, int(batch), int(number))

    assert [(f.file, f.row, f.column) for f in told(kept_as_workbook(tmp_path, days))] == [
        ("book.xlsx[bells]", 2, "bell_id")
    ]


def test_a_batch_may_be_named_by_its_day(tmp_path: Path) -> None:
    def by_day(workbook: Workbook) -> None:
        of = {row[0].value: row[1].value for row in workbook["batches"].iter_rows(min_row=2)}
        for title, column in (("batches", 1), ("bells", 2)):
            for row in range(2, workbook[title].max_row + 1):
                one = workbook[title].cell(row, column)
                one.value = of[one.value]

    assert not told(kept_as_workbook(tmp_path, by_day))


@pytest.mark.parametrize("spoil", ["a copy beside it", "pasted twice"])
def test_a_copy_is_told_once(spoil: str, book: Path) -> None:
    data = (book / M).read_bytes()
    if spoil == "pasted twice":
        (book / M).write_bytes(data + b"\n" + data)
    else:
        (book / "measurements - Copy.csv").write_bytes(data)
    found = told(book)
    assert len(found) == 1 and "145 readings" in found[0].what


def test_the_journal_says_what_was_taken_back(book: Path, tmp_path: Path) -> None:
    rows = sheets()[M]
    corrected = write(tmp_path / "corrected", {M: [rows[0], [*rows[5][:5], "13.13", *rows[5][6:]]]})
    add_sheets(book, corrected, replace_old=True)
    undo_addition(book)
    lines = (book / "journal.csv").read_text().splitlines()
    assert [line.split(",")[1] for line in lines[1:]] == ["replaced", "taken back"]
    assert "From corrected" in lines[-1]


def test_another_value_is_told_with_the_way_to_replace_it(
    book: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = sheets()[M]
    other = write(tmp_path / "other", {M: [rows[0], [*rows[5][:5], "13.13", *rows[5][6:]]]})
    assert main(["add", str(book), str(other)]) == 1
    assert "--replace" in capsys.readouterr().err


@pytest.mark.parametrize(("asked", "meant"), [("oak", "is it OAK or OAK-T?"), ("b1-1", "is it B1-1")])
def test_a_name_in_other_letters_is_suggested_once(
    asked: str, meant: str, book: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["show", str(book), asked]) == 1
    said = capsys.readouterr().err
    assert meant in said and "OAK or OAK or" not in said


@pytest.mark.parametrize(
    "said", ["[" * 200_000 + "]" * 200_000, "[]", '{"removed": ["../kept.txt"], "undone": "0001"}', "{}"]
)
def test_a_hidden_change_that_is_not_ours_takes_nothing_away(said: str, book: Path, tmp_path: Path) -> None:
    (tmp_path / "kept.txt").write_text("somebody's")
    (book / ".springfit-change").mkdir()
    (book / ".springfit-change" / ".springfit-undo").write_text(said)
    assert not told(book, "error")
    rows = [["gauge_id", "what", "repeatability_mm", "station_mm"], ["NEW", "caliper", "0.02", "0.2"]]
    add_sheets(book, write(tmp_path / "more", {"gauges.csv": rows}))
    assert (tmp_path / "kept.txt").exists()


@pytest.mark.parametrize("said", ["[1]", json.dumps({"../kept.txt": "0"}), "[" * 200_000])
def test_what_was_written_last_is_not_guessed(
    said: str, book: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    kept = book / "replaced" / "0001"
    kept.mkdir(parents=True)
    (kept / "files-written.json").write_text(said)
    (kept / "what-was-added.txt").write_text("all of it")
    assert main(["undo", str(book)]) == 1
    assert "what was added last is not known" in capsys.readouterr().err


def giant(as_xml: Callable[[bytes], bytes], path: Path) -> Path:
    """The small book as a workbook with a cell of many letters behind its readings."""
    as_workbook(path, sheets())
    workbook = openpyxl.load_workbook(path)
    part = f"xl/worksheets/sheet{workbook.sheetnames.index('measurements') + 1}.xml"
    letters = bytes(random.Random(1).choices(b"abcdefghijklmnopqrstuvwxyz", k=LONG))
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts[part] = parts[part].replace(b"</sheetData>", as_xml(letters) + b"</sheetData>")
    return zipped(path, parts)


REST = b"".join(
    b'<c r="%b300" t="inlineStr"><is><t>%b</t></is></c>' % pair
    for pair in ((b"B", b"trimmed"), (b"C", b"wall"), (b"D", b"tail"), (b"E", b"40"), (b"F", b"0.5"), (b"H", b"MIC"))
)


@pytest.mark.parametrize("before, behind", [(b' t="inlineStr"><is><t>', b"</t></is></c>"), (b"><f>", b"</f></c>")])
def test_a_giant_cell_is_refused_quickly(before: bytes, behind: bytes, tmp_path: Path) -> None:
    row = b'<row r="300"><c r="A300"'
    path = giant(lambda letters: row + before + letters + behind + REST + b"</row>", tmp_path / "book.xlsx")
    tracemalloc.start()
    began = time.perf_counter()
    found = told(path, "error")
    took, peak = time.perf_counter() - began, tracemalloc.get_traced_memory()[1] / 2**20
    tracemalloc.stop()
    assert [(finding.row, finding.what[:15], len(finding.line()) < 300) for finding in found] == [
        (300, "the cell holds ", True)
    ]
    assert took < SECONDS and peak < MEGABYTES
