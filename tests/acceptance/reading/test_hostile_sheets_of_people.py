"""Sheets as people keep them: read without a change as the clean book is, or refused in one sentence.

The names of the cases are the table: `pytest -v` on this file prints it.
"""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from openpyxl.styles import Font

from springfit.records import add_sheets, check_book, read_book
from springfit.records.book import Book
from springfit.records.day_setting import keep_day_order
from tests.helpers.books import sheet_habits as habits
from tests.helpers.books.small_book import change, sheets, text, write
from tests.helpers.books.spoilers import B, M, P, Rewrite, Spoil, nothing, rewrite_all, spoiled

READ: dict[str, tuple[Spoil, Rewrite]] = {
    "a title and an empty row above": (habits.every_sheet(habits.titled), nothing),
    "a remark underneath": (habits.every_sheet(habits.remarked), nothing),
    "the header again half-way": (habits.every_sheet(habits.headed_again), nothing),
    "header words with blanks, capitals, brackets": (habits.every_sheet(habits.with_spaces), nothing),
    "units in a row of their own": (habits.every_sheet(habits.with_units_below), nothing),
    "units in the header and in a row": (habits.every_sheet(habits.with_units_twice), nothing),
    "a line break in the headers": (habits.every_sheet(habits.broken_headers), nothing),
    "zero-width blanks": (habits.every_sheet(habits.invisible), nothing),
    "totals and means underneath": (habits.totals, nothing),
    "a remark half-way": (habits.remark_half_way, nothing),
    "UTF-16": (nothing, rewrite_all(lambda data: data.decode().encode("utf-16"))),
    "UTF-16, tabs": (nothing, rewrite_all(lambda data: data.decode().replace(",", "\t").encode("utf-16"))),
    "tabs": (nothing, habits.separated("\t")),
    "semicolons with decimal points": (nothing, habits.separated(";")),
    "a sep= line": (nothing, rewrite_all(lambda data: b"sep=;\r\n" + data.replace(b",", b";"))),
    "a sep= line of commas": (nothing, rewrite_all(lambda data: b'"sep=,"\n' + data)),
    "days month first, as kept": (habits.days_of("%m/%d/%Y"), habits.kept("month-first")),
    "days day first, as kept": (habits.days_of("%d.%m.%Y"), habits.kept("day-first")),
    "file names with capitals and blanks": (
        nothing, lambda folder: (folder / P).rename(folder / "Mandrel Profile.CSV") and None
    ),
    "all of it at once": (
        habits.every_sheet(lambda rows: [step(rows) for step in (habits.with_spaces, habits.remarked, habits.titled)]),
        rewrite_all(lambda data: data.replace(b",", b"\t").decode().encode("utf-16")),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", READ)
def test_read_as_the_clean_book(name: str, tmp_path: Path, sound: Book) -> None:
    spoil, then = READ[name]
    folder = spoiled(tmp_path / "book", spoil, then)
    assert read_book(folder)[0].digest == sound.digest


REFUSED: dict[str, tuple[Spoil, str]] = {
    "days in an order not said": (habits.days_of("%d/%m/%Y"), "--days day-first (or month-first)"),
    "decimal commas throughout": (
        lambda book: change(book[M], "value_mm", lambda value: value.replace(".", ",")),
        "--decimal-comma",
    ),
    "a header nobody could know": (
        lambda book: book["gauges.csv"].__setitem__(0, ["a", "b", "c", "d", "e"]),
        "column gauge_id is missing",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused_in_one_sentence_a_cause(name: str, tmp_path: Path) -> None:
    spoil, reason = REFUSED[name]
    book = sheets()
    spoil(book)
    findings = check_book(write(tmp_path / "book", book))
    assert sum(f.grade == "error" and reason in f.line() for f in findings) == 1
    assert sum(f.grade == "error" for f in findings) <= 6  # what hangs on the cells that could not be read


@pytest.mark.parametrize(
    "row",
    [
        ["B1-1", "", "", "", "", "", "", ""],
        ["", "", "", "", "", "13.2", "", ""],
        ["", "trimmed", "", "", "", "", "", ""],
        ["B1-1", "trimmed", "outside_diameter", "tail", "", "13.2", "", "MIC"],
    ],
)
def test_a_record_half_filled_is_never_passed_over(row: list[str], tmp_path: Path) -> None:
    book = sheets()
    book[M].append(row)
    assert any(
        f.grade == "error" and f.row == len(book[M]) for f in check_book(write(tmp_path / "book", book))
    )


def test_what_is_passed_over_is_said_by_row(tmp_path: Path) -> None:
    book = sheets()
    habits.totals(book)
    habits.titled(book[B])
    notes = [(f.file, f.row) for f in check_book(write(tmp_path / "book", book)) if "not read" in f.what]
    assert notes == [(B, 1), (P, 65), (M, 147)]


def test_sums_of_a_workbook_are_no_formulas_to_refuse(tmp_path: Path, sound: Book) -> None:
    workbook = openpyxl.Workbook()
    for name, rows in sheets().items():
        sheet = workbook.create_sheet(name.removesuffix(".csv").replace("_", " ").title())
        sheet.append(["Shop of the oak and the ash"])
        for row in rows:
            sheet.append([_number(cell) for cell in row])
    last = workbook["Measurements"]
    last.append([None, None, None, None, "mean", "=AVERAGE(F3:F147)"])
    last.merge_cells("A3:A37")
    last.row_dimensions[9].hidden = True
    last["F11"].font = Font(strike=True)
    last["J5"] = "remeasured"
    workbook.remove(workbook["Sheet"])
    workbook.save(tmp_path / "book.xlsx")
    book, findings = read_book(tmp_path / "book.xlsx")
    assert book.digest == sound.digest
    doubts = [(f.row, f.what) for f in findings if f.grade == "doubt" and "Measurements" in f.file]
    assert [row for row, _ in doubts] == [2, 9, 11]
    assert "hidden" in doubts[1][1] and "struck through" in doubts[2][1]


def _number(cell: str) -> object:
    try:
        return float(cell)
    except ValueError:
        return cell or None


FRACTIONS = ["0", "1/4", "1/2", "3/4", "1", "1-1/4", "1-1/2", "2"]


@pytest.mark.parametrize(
    ("day", "place", "meant"),
    [
        ("2025-01-04", 1, "1/4"),  # month first
        ("2025-04-01", 1, "1/4"),  # day first
        ("4-Jan", 1, "1/4"),
        ("2004-01-01", 5, "1-1/4"),
        ("2002-01-01", 6, "1-1/2"),
        ("2025-01-04", 3, None),  # 1/4 does not fit between 1/2 and 1
        ("2025-05-05", 1, None),
        ("2004-01-01", 7, None),  # nothing below it
    ],
)
def test_a_fraction_made_a_date_is_read_back_only_where_one_fits(
    day: str, place: int, meant: str | None, tmp_path: Path
) -> None:
    book = sheets()
    rows = [["OAK-T", z, f"{0.5 + n / 16}"] for n, z in enumerate(FRACTIONS)]
    rows[place][1] = day
    book["target_profile.csv"] = [["target_id", "z_in", "diameter_in"], *rows]
    folder = write(tmp_path / "book", book)
    findings = check_book(folder)
    errors = [finding for finding in findings if finding.grade == "error"]
    if meant is None:
        assert len(errors) == 1 and "set the column's cells to text" in errors[0].line()
        return
    whole = meant.split("-")
    inches = sum(int(a) / int(b or 1) for a, _, b in (part.partition("/") for part in whole))
    assert read_book(folder)[0].target_profile["z_mm"][place] == pytest.approx(25.4 * inches, abs=1e-9)


def test_days_asked_once_are_kept_and_written_year_first(tmp_path: Path, sound: Book) -> None:
    book = sheets()
    later = {
        name: [rows[0], *(row for row in rows[1:] if row[0].startswith("B3"))] for name, rows in book.items()
    }
    for name in (B, "bells.csv", M):
        book[name] = [row for row in book[name] if not row[0].startswith("B3")]
    folder = write(tmp_path / "book", book)
    keep_day_order(folder, "day-first")
    habits.days_of("%d/%m/%Y")(later)
    typed = write(tmp_path / "typed", {name: later[name] for name in (B, "bells.csv", M)})
    add_sheets(folder, typed)
    assert "2025-06-01" in (folder / B).read_text()
    assert read_book(folder)[0].digest == sound.digest


@pytest.mark.parametrize(
    "name", ["measurements_b024.csv", "measurements (2).csv", "readings.txt", "old/bells.csv", "shop.xlsx"]
)
def test_what_may_hold_records_and_is_not_read_is_said(name: str, tmp_path: Path) -> None:
    folder = write(tmp_path / "book", sheets())
    (folder / name).parent.mkdir(exist_ok=True)
    (folder / name).write_text(text(sheets()[M]))
    doubts = [f for f in check_book(folder) if f.grade == "doubt"]
    assert [f.file for f in doubts] == [name.split("/")[0] + ("/" if "/" in name else "")]
    assert "not read" in doubts[0].what


@pytest.mark.parametrize("name", ["person", "title", "merged", "date"])
def test_the_trial_workbooks_are_read_without_a_change(name: str, shared: Path, tmp_path: Path) -> None:
    """Cell for cell as the same records typed as CSV (revision 0 and two batches of them)."""
    folder = tmp_path / "clean"
    folder.mkdir()
    for path in (shared / "trial" / "three-batches").glob("*.csv"):
        lines = path.read_text().splitlines(keepends=True)
        late = [line for line in lines if line.startswith(("ELM,1,", "24-3"))]
        (folder / path.name).write_text("".join(line for line in lines if line not in late))
    book, findings = read_book(shared / "trial" / "spreadsheets" / f"{name}.xlsx")
    assert book.digest == read_book(folder)[0].digest
    assert not [finding for finding in findings if finding.grade != "note"]
