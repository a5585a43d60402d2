"""`add --replace`: a corrected sheet takes the place of what was typed wrongly; the old value stays in the journal."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from springfit.cli import main
from springfit.findings import BookError
from springfit.records import add_sheets
from springfit.records.reading import read_book
from tests.helpers.books import small_book
from tests.helpers.books.small_book import Sheets


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


@pytest.mark.parametrize(
    ("encoding", "mark", "separator", "line_end"),
    [
        ("utf-8", b"", ";", "\n"),
        ("utf-8", b"\xef\xbb\xbf", "\t", "\r\n"),
        ("utf-16-le", b"\xff\xfe", "\t", "\r\n"),
        ("utf-16-be", b"\xfe\xff", ",", "\n"),
        ("cp1252", b"", ",", "\r\n"),
    ],
)
def test_a_file_in_another_form_is_corrected_in_that_form(
    encoding: str, mark: bytes, separator: str, line_end: str, tmp_path: Path
) -> None:
    """Whatever wrote the book's file, one line of it changes, the rest is kept byte for byte."""
    folder = small_book.write(tmp_path / "book", small_book.sheets())
    rows = slipped()["batches.csv"]
    rows[1][-1] = "a note, with a mark; für M\u00fcller"
    titled = [["our batches"], *rows]
    data = mark + small_book.text(titled, separator, line_end).encode(encoding)
    (folder / "batches.csv").write_bytes(data)
    sheets = small_book.write(tmp_path / "sheets", {"batches.csv": corrected()["batches.csv"]})
    add_sheets(folder, sheets, replace_old=True)
    after = (folder / "batches.csv").read_bytes()
    wrong, right = (f"{separator}{wall}{separator}".encode(encoding) for wall in ("0.6", "0.5"))
    assert data.count(wrong) == 1 and after == data.replace(wrong, right)


def test_an_empty_cell_empties_the_book_s_and_a_column_left_out_does_not(tmp_path: Path) -> None:
    folder = small_book.write(tmp_path / "book", small_book.sheets())
    sheet = {"batches.csv": [["batch_id", "spun_on", "mandrel_id", "alloy", "wall_mm", "temper"],
                             ["B1", "2025-03-01", "OAK", "C26000", "0.5", ""]]}  # fmt: skip
    done = add_sheets(folder, small_book.write(tmp_path / "sheets", sheet), replace_old=True, reason="never known")
    assert [(c.header, c.old, c.new) for c in done.replaced] == [("temper", "OS035", "")]
    how = read_book(folder)[0].conditions("B1")
    assert how.temper is None and how.anneal == "full" and how.passes == 3
    (row,) = list(csv.reader((folder / "journal.csv").read_text().splitlines()))[1:]
    assert "OS035 -> (blank); never known" in row[4] and row[0]


def test_what_must_be_filled_is_not_emptied(tmp_path: Path) -> None:
    folder = small_book.write(tmp_path / "book", small_book.sheets())
    before = (folder / "batches.csv").read_bytes()
    batch = small_book.sheets()["batches.csv"]
    emptied = [batch[0], ["" if name == "alloy" else cell for name, cell in zip(batch[0], batch[1], strict=True)]]
    with pytest.raises(BookError, match="alloy"):
        add_sheets(folder, small_book.write(tmp_path / "sheets", {"batches.csv": emptied}), replace_old=True)
    assert (folder / "batches.csv").read_bytes() == before
