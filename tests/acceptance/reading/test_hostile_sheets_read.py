"""Sheets with a spreadsheet's habits in them: each is read as the clean ones are, to the same digest."""

from __future__ import annotations

import unicodedata
from pathlib import Path

import pytest

from springfit.records import Book, check_book, read_book
from tests.helpers.books.small_book import Sheets, change, sheets, text, write
from tests.helpers.books.spoilers import Rewrite, Spoil, nothing, rewrite_all, spoiled


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Book:
    book, findings = read_book(write(tmp_path_factory.mktemp("sound") / "book", sheets()))
    assert {finding.grade for finding in findings} == {"note"}
    return book


def in_other_units(unit: str, mm: float) -> Spoil:
    def spoil(book: Sheets) -> None:
        for rows in book.values():
            for place, name in enumerate(rows[0]):
                if name.endswith("_mm"):
                    rows[0][place] = name.removesuffix("mm") + unit
                    for row in rows[1:]:
                        row[place] = row[place] and repr(round(float(row[place]) / mm, 10))

    return spoil


def reordered(book: Sheets) -> None:
    for name, rows in book.items():
        if name not in ("mandrel_profile.csv", "target_profile.csv"):
            rows[1:] = rows[:0:-1]
        for row in rows:
            row.reverse()


def split_by_bell(book: Sheets) -> None:
    rows = book["measurements.csv"]
    book["Measurements-June.csv"] = [rows[0], *(row for row in rows[1:] if row[0] == "B3-1")]
    book["measurements.csv"] = [rows[0], *(row for row in rows[1:] if row[0] != "B3-1")]


def spaced(book: Sheets) -> None:
    for rows in book.values():
        rows[0] = [f" {name.upper()} " for name in rows[0]]
        rows[1:] = [[f"  {cell}\u00a0" for cell in row] for row in rows[1:]]


def blank_rows(book: Sheets) -> None:
    for rows in book.values():
        width = len(rows[0])
        rows.insert(2, [""] * width)
        rows += [[" "] * width, [""] * (width + 3), []]


def choices_in_capitals(book: Sheets) -> None:
    change(book["batches.csv"], "anneal", str.capitalize)
    change(book["measurements.csv"], "kind", lambda kind: kind.upper().replace("_", " "))
    change(book["batches.csv"], "alloy", str.lower)


def typed_numbers(book: Sheets) -> None:
    change(book["batches.csv"], "passes", lambda n: f"{n}.0")
    change(book["batches.csv"], "tool_nose_mm", lambda n: f"+{n}.")
    change(book["bells.csv"], "witness_z_mm", lambda n: "3.8e2" if n else "")


def extra_columns(book: Sheets) -> None:
    for rows in book.values():
        for row in rows:
            row.insert(0, "weather" if row is rows[0] else "=rain")


def without_trailing_blanks(book: Sheets) -> None:
    for rows in book.values():
        for row in rows:
            while row and not row[-1]:
                row.pop()


READ_RIGHT: dict[str, tuple[Spoil, Rewrite]] = {
    "byte-order mark": (nothing, rewrite_all(lambda data: b"\xef\xbb\xbf" + data)),
    "CRLF line ends": (nothing, rewrite_all(lambda data: data.replace(b"\n", b"\r\n"))),
    "CR line ends": (nothing, rewrite_all(lambda data: data.replace(b"\n", b"\r"))),
    "no line end at the end": (nothing, rewrite_all(bytes.rstrip)),
    "blank rows": (blank_rows, nothing),
    "spaces and capitals": (spaced, nothing),
    "rows and columns in another order": (reordered, nothing),
    "short rows": (without_trailing_blanks, nothing),
    "extra columns": (extra_columns, nothing),
    "a table in two files": (split_by_bell, nothing),
    "inch decimals": (in_other_units("in", 25.4), nothing),
    "thou": (in_other_units("thou", 0.0254), nothing),
    "choices in capitals": (choices_in_capitals, nothing),
    "numbers as 3.0, +8. and 3.8e2": (typed_numbers, nothing),
    "a file that is no table": (nothing, lambda folder: (folder / "weather.csv").write_text("a,b\n1,2\n")),
}


@pytest.mark.parametrize("name", READ_RIGHT)
def test_read_right(name: str, tmp_path: Path, sound: Book) -> None:
    spoil, then = READ_RIGHT[name]
    folder = spoiled(tmp_path / "book", spoil, then)
    read, findings = read_book(folder)
    assert read.digest == sound.digest
    assert {finding.grade for finding in findings} == {"note"}


def test_fractions_of_an_inch(tmp_path: Path) -> None:
    book = sheets()
    book["batches.csv"][0][8] = "tool_nose_in"
    for row, typed in zip(book["batches.csv"][1:], ('5/16"', "1 1/4", "1-3/8"), strict=True):
        row[8] = typed
    read, _ = read_book(write(tmp_path / "book", book))
    assert read.batches["tool_nose_mm"].tolist() == [0.3125 * 25.4, 1.25 * 25.4, 1.375 * 25.4]


def test_latin_1_is_read_and_named(tmp_path: Path) -> None:
    folder = write(tmp_path / "book", sheets())
    lines = (folder / "batches.csv").read_text().splitlines()
    lines[2] += "größer"
    (folder / "batches.csv").write_bytes("\n".join(lines).encode("latin-1"))
    read, findings = read_book(folder)
    assert read.batches["note"][1] == "größer"
    assert any("Latin-1" in finding.what and finding.row == 3 for finding in findings)


def test_decimal_commas_when_asked_for(tmp_path: Path, sound: Book) -> None:
    folder = tmp_path / "book"
    folder.mkdir()
    for name, rows in sheets().items():
        numbers = [[cell.replace(".", ",") if cell[:1].isdigit() else cell for cell in row] for row in rows]
        (folder / name).write_text(text(numbers, ";"))
    assert read_book(folder, decimal_comma=True)[0].digest == sound.digest


def test_formula_like_cells_and_odd_names_are_data(tmp_path: Path) -> None:
    notes = [
        '=HYPERLINK("http://x")',
        "+1",
        "-1",
        "@SUM(A1)",
        "<b>",
        'a "quoted, comma"',
        "two\nlines",
        "''=x",
    ]
    book = sheets()
    bells = book["bells.csv"]
    for number, note in enumerate(notes):
        bells.append([f"=B-{number}/../..", "B1", "", "", "", note])
    read, findings = read_book(write(tmp_path / "book", book))
    assert read.bells["note"].tolist()[-len(notes) :] == [*notes[:-1], "'=x"]
    assert read.bells["bell_id"].iloc[-1] == f"=B-{len(notes) - 1}/../.."
    assert {finding.grade for finding in findings} == {"note"}


def test_letters_composed_or_not_are_the_same_name(tmp_path: Path) -> None:
    book = sheets()
    change(
        book["mandrels.csv"],
        "mandrel_id",
        lambda name: unicodedata.normalize("NFC", "ÅSH") if name == "ASH" else name,
    )
    change(
        book["mandrel_profile.csv"],
        "mandrel_id",
        lambda name: unicodedata.normalize("NFD", "ÅSH") if name == "ASH" else name,
    )
    change(
        book["batches.csv"],
        "mandrel_id",
        lambda name: unicodedata.normalize("NFD", "ÅSH") if name == "ASH" else name,
    )
    assert read_book(write(tmp_path / "book", book))[0].newest_batch("ÅSH") == "B2"


def test_points_are_refused_where_commas_are_decimal(tmp_path: Path) -> None:
    """`1.250` between semicolons may be a thousand and more, and is not guessed."""
    folder = tmp_path / "book"
    folder.mkdir()
    for name, rows in sheets().items():
        (folder / name).write_text(text(rows, ";"))
    findings = [f for f in check_book(folder, decimal_comma=True) if f.grade == "error"]
    assert any((f.file, f.row, f.column) == ("batches.csv", 2, "wall_mm") for f in findings)
    assert all("point where numbers have commas" in f.what or "more like these" in f.what for f in findings)


def test_the_files_with_points_of_a_book_with_commas_are_read(tmp_path: Path, sound: Book) -> None:
    folder = write(tmp_path / "book", sheets())
    rows = sheets()["measurements.csv"]
    numbers = [[cell.replace(".", ",") if cell[:1].isdigit() else cell for cell in row] for row in rows]
    (folder / "measurements.csv").write_text(text(numbers))
    assert read_book(folder, decimal_comma=True)[0].digest == sound.digest
