"""`add --replace`: a corrected sheet takes the place of what was typed wrongly; the old value stays in the journal."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from springfit.cli import main
from springfit.records.reading import read_book
from tests import small_book
from tests.small_book import Sheets


def add(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str]:
    code = main(["add", *(str(argument) for argument in arguments)])
    told = capsys.readouterr()
    return code, told.out + told.err


def slipped() -> Sheets:
    """The small book with 35.0 typed for one diameter, and a wrong wall."""
    book = small_book.sheets()
    small_book.change(book["measurements.csv"], "value_mm", lambda _: "35.0", where={"bell_id": "B1-1", "z_mm": "290"})
    small_book.change(book["batches.csv"], "wall_mm", lambda _: "0.6", where={"batch_id": "B2"})
    return book


def corrected() -> Sheets:
    """The sheets as they should have been: one reading in inches, one batch with only what is to be corrected."""
    (reading,) = [row for row in small_book.sheets()["measurements.csv"] if row[0] == "B1-1" and row[4] == "290"]
    header = ["bell_id", "stage", "kind", "datum", "z_in", "value_in", "angle_deg", "gauge_id"]
    in_inches = [*reading[:4], repr(float(reading[4]) / 25.4), repr(float(reading[5]) / 25.4), *reading[6:]]
    batch = small_book.sheets()["batches.csv"]
    return {"measurements.csv": [header, in_inches], "batches.csv": [batch[0], batch[2]]}


def test_the_book_is_as_if_it_had_been_typed_rightly(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = small_book.write(tmp_path / "book", slipped())
    before = (book / "measurements.csv").read_text()
    sheets = small_book.write(tmp_path / "sheets", corrected())
    assert add(capsys, book, sheets)[0] == 1, "without --replace another value is an error"
    code, told = add(capsys, book, sheets, "--replace", "--reason", "misread the caliper")
    assert code == 0 and "replaced '35.0' by" in told
    sound = small_book.write(tmp_path / "sound", small_book.sheets())
    assert read_book(book)[0].digest == read_book(sound)[0].digest
    after = (book / "measurements.csv").read_text()
    assert sum(a != b for a, b in zip(before.splitlines(), after.splitlines(), strict=True)) == 1
    rows = list(csv.reader((book / "journal.csv").read_text().splitlines()))
    assert len(rows) == 3 and {row[1] for row in rows[1:]} == {"replaced"}
    reading = next(row for row in rows if row[3].startswith("measurements.csv"))
    assert reading[0] and reading[2] == "B1-1" and "35.0 -> " in reading[4] and "misread the caliper" in reading[4]


def test_it_can_be_taken_back_and_the_journal_stands(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = small_book.write(tmp_path / "book", slipped())
    old = read_book(book)[0].digest
    sheets = small_book.write(tmp_path / "sheets", corrected())
    assert add(capsys, book, sheets, "--replace")[0] == 0
    assert main(["undo", str(book)]) == 0
    assert read_book(book)[0].digest == old
    assert "35.0 -> " in (book / "journal.csv").read_text() and "corrected sheet sheets" in (
        book / "journal.csv"
    ).read_text()


def test_a_place_mistyped(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = small_book.sheets()
    small_book.change(book["mandrel_profile.csv"], "z_mm", lambda _: "195", where={"mandrel_id": "ASH", "z_mm": "200"})
    folder = small_book.write(tmp_path / "book", book)
    sound = small_book.sheets()["mandrel_profile.csv"]
    ash = [row for row in sound if row[0] in ("mandrel_id", "ASH")]
    sheets = small_book.write(tmp_path / "sheets", {"mandrel_profile.csv": ash})
    code, told = add(capsys, folder, sheets, "--replace")
    assert code == 0 and "replaced '195' by '200'" in told
    whole = small_book.write(tmp_path / "sound", small_book.sheets())
    assert read_book(folder)[0].digest == read_book(whole)[0].digest


def test_only_looked_at(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = small_book.write(tmp_path / "book", slipped())
    before = {path.name: path.read_bytes() for path in book.iterdir()}
    sheets = small_book.write(tmp_path / "sheets", corrected())
    code, told = add(capsys, book, sheets, "--replace", "--dry-run")
    assert code == 0 and "would replace '0.6' by '0.5' at batches.csv:3:wall_mm" in told
    assert {path.name: path.read_bytes() for path in book.iterdir()} == before
