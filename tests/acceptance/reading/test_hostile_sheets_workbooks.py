"""Workbooks read as the folder of CSV files is, and their own traps: dates, formulas, bombs."""

from __future__ import annotations

import datetime
import os
import time
import tracemalloc
import zipfile
from pathlib import Path

import pytest

from springfit.records import check_book, read_book
from tests.helpers.books.small_book import sheets, write
from tests.helpers.books.small_workbook import as_workbook, zipped


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


def refused_quickly(path: Path, reason: str) -> None:
    """One error, within seconds and tens of MB."""
    tracemalloc.start()
    begin = time.perf_counter()
    findings = check_book(path)
    seconds, peak = time.perf_counter() - begin, tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert any(finding.grade == "error" and reason in finding.line() for finding in findings), findings
    assert seconds < 5 and peak < 100 * 2**20, (seconds, peak)


def test_a_zip_bomb_is_not_unpacked(tmp_path: Path) -> None:
    bomb = zipped(tmp_path / "book.xlsx", {"xl/worksheets/sheet1.xml": bytes(300 * 2**20)})
    refused_quickly(bomb, "would unpack to 300 MB")


def test_many_parts_are_not_opened(tmp_path: Path) -> None:
    many = zipped(tmp_path / "book.xlsx", {f"xl/{n}.xml": b"<a/>" for n in range(3000)})
    refused_quickly(many, "in 3000 parts")


def test_a_bomb_of_entities_is_not_expanded(tmp_path: Path) -> None:
    as_workbook(tmp_path / "sound.xlsx", sheets())
    with zipfile.ZipFile(tmp_path / "sound.xlsx") as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    nested = "".join(f'<!ENTITY a{n + 1} "{f"&a{n};" * 10}">' for n in range(9))
    laughs = f'<!DOCTYPE x [<!ENTITY a0 "ha">{nested}]><workbook>&a9;</workbook>'
    refused_quickly(
        zipped(tmp_path / "book.xlsx", {**parts, "xl/workbook.xml": laughs.encode()}), "XML entities"
    )


@pytest.mark.parametrize(
    "name", ["xl/workbook.xml", "xl/worksheets/sheet2.xml", "[Content_Types].xml", "xl/styles.xml"]
)
@pytest.mark.parametrize("data", [b"", b"\xff\x00junk", b"<a><b></a>", b'<?xml version="1.0"?><nothing/>'])
def test_damaged_workbooks_end_in_findings(name: str, data: bytes, tmp_path: Path) -> None:
    as_workbook(tmp_path / "sound.xlsx", sheets())
    with zipfile.ZipFile(tmp_path / "sound.xlsx") as archive:
        parts = {part: archive.read(part) for part in archive.namelist()}
    findings = check_book(zipped(tmp_path / "book.xlsx", {**parts, name: data}))
    assert any(finding.grade == "error" for finding in findings) or name == "xl/styles.xml"


def test_files_that_are_no_workbooks(tmp_path: Path) -> None:
    for number, data in enumerate(
        (b"", b"PK", b"PK\x03\x04" + bytes(99), b"bell_id,batch_id\n", os.urandom(9999))
    ):
        (tmp_path / f"{number}.xlsx").write_bytes(data)
        assert check_book(tmp_path / f"{number}.xlsx")[0].grade == "error"


def test_a_200_mb_junk_file_is_refused_unread(tmp_path: Path) -> None:
    folder = write(tmp_path / "book", sheets())
    with open(folder / "measurements-junk.csv", "wb") as stream:
        stream.truncate(200 * 2**20)
    refused_quickly(folder, "measurements-junk.csv: the file has 200 MB")
    with open(tmp_path / "junk.xlsx", "wb") as stream:
        stream.truncate(200 * 2**20)
    refused_quickly(tmp_path / "junk.xlsx", "the file has 200 MB")


def test_what_is_not_a_book_is_said_to_be_none(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "file.csv").write_text("a,b\n")
    deep = tmp_path / "/".join(["deep"] * 200)
    for path, reason in (
        (tmp_path / "empty", "holds none of the tables"),
        (tmp_path / "file.csv", "this is a single file"),
        (tmp_path / "nowhere", "there is no such folder"),
        (deep, "there is no such folder"),
        (tmp_path / ("long" * 999), "cannot be read"),
        (tmp_path / "nul\0", "there is no such folder"),
    ):
        (finding,) = check_book(path)
        assert finding.grade == "error" and reason in finding.what


def test_odd_file_names_in_a_book_do_no_harm(tmp_path: Path) -> None:
    folder = write(tmp_path / "book", sheets())
    (folder / "bells-\u202e\n=cmd.csv").write_text("bell_id,batch_id\nX,B1\n")
    (folder / "gauges-dir.csv").mkdir()
    os.mkfifo(folder / "batches-pipe.csv")
    book, _ = read_book(folder)
    assert "X" in set(book.bells["bell_id"])
    assert all("\n" not in finding.line() for finding in check_book(folder))
    (folder / "measurements-loop.csv").symlink_to(folder / "measurements-loop.csv")
    (finding,) = check_book(folder)
    assert "cannot be read" in finding.what


def test_numbers_of_a_workbook_need_no_decimal_mark(tmp_path: Path) -> None:
    """A cell that is a number is read with --decimal-comma too, beside one that was typed as text with a comma."""
    workbook = as_workbook(tmp_path / "book.xlsx", sheets())
    expected = read_book(tmp_path / "book.xlsx")[0].digest
    cell = workbook["measurements"]["F5"]
    cell.value = str(cell.value).replace(".", ",")
    workbook.save(tmp_path / "book.xlsx")
    assert read_book(tmp_path / "book.xlsx", decimal_comma=True)[0].digest == expected
