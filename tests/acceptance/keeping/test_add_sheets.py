"""Adding a batch's sheets: what is added, what is refused, and that a refusal changes nothing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from springfit.findings import BookError
from springfit.records import add_sheets, check_book, new_book, read_book
from tests.helpers.books.books_to_add import batch_b3, contents, whole_digest
from tests.helpers.books.saved_books import save_book
from tests.helpers.books.small_book import Sheets, sheets, text, write
from tests.helpers.books.small_workbook import as_workbook


def test_the_merged_book_is_the_whole_book(book: Path, typed: Path, tmp_path: Path) -> None:
    before = contents(book)
    done = add_sheets(book, typed)
    assert done.added == {"batches": 1, "bells": 1, "measurements": 36}
    assert read_book(book)[0].digest == whole_digest(tmp_path)
    after = contents(book)
    for name in done.files:
        assert after[name].startswith(before[name]), "what was typed before stays as it was typed"
        assert after[f"replaced/0001/{name}"] == before[name]
    assert "1 rows of batches" in after["replaced/0001/what-was-added.txt"].decode()


def test_adding_again_changes_nothing(book: Path, typed: Path) -> None:
    add_sheets(book, typed)
    before = contents(book)
    again = add_sheets(book, typed)
    assert again.added == {} and again.files == ()
    assert again.unchanged == {"batches": 1, "bells": 1, "measurements": 36}
    assert contents(book) == before


def test_a_dry_run_says_what_would_change_and_changes_nothing(book: Path, typed: Path) -> None:
    before = contents(book)
    would = add_sheets(book, typed, dry_run=True)
    assert would.dry_run and would.lines()[0] == "would add 1 rows to batches"
    assert contents(book) == before and not (book / ".springfit-lock").exists()


def test_a_workbook_is_added_as_its_sheets_are(book: Path, typed: Path, tmp_path: Path) -> None:
    as_workbook(tmp_path / "typed.xlsx", batch_b3()[1])
    add_sheets(book, tmp_path / "typed.xlsx")
    assert read_book(book)[0].digest == whole_digest(tmp_path)


@pytest.mark.parametrize("end", ["\r\n", "\n"])
@pytest.mark.parametrize("start", [b"", b"\xef\xbb\xbf"])
def test_habits_of_the_book_s_files_are_kept(
    end: str, start: bytes, book: Path, typed: Path, tmp_path: Path
) -> None:
    name = "measurements.csv"
    (book / name).write_bytes(start + text(batch_b3()[0][name], line_end=end).encode().rstrip())
    add_sheets(book, typed)
    data = (book / name).read_bytes()
    assert data.startswith(start) and data.count(end.encode()) == data.count(b"\n")
    assert read_book(book)[0].digest == whole_digest(tmp_path)


def test_other_units_become_a_file_of_their_own(book: Path, tmp_path: Path) -> None:
    whole, _ = read_book(write(tmp_path / "whole", sheets()))
    save_book(whole, tmp_path / "inches", units="in")
    done = add_sheets(book, tmp_path / "inches")
    assert "measurements-02.csv" in done.files and done.unchanged["measurements"] == 109
    assert read_book(book)[0].digest == whole.digest


def test_decimal_commas_are_written_as_points(book: Path, tmp_path: Path) -> None:
    folder = tmp_path / "typed"
    folder.mkdir()
    for name, rows in batch_b3()[1].items():
        (folder / name).write_text(
            text(
                [[cell.replace(".", ",") if cell[:1].isdigit() else cell for cell in row] for row in rows],
                ";",
            )
        )
    with pytest.raises(BookError, match="--decimal-comma"):
        add_sheets(book, folder)
    add_sheets(book, folder, decimal_comma=True)
    assert read_book(book)[0].digest == whole_digest(tmp_path)


def test_formula_like_cells_are_written_as_data(book: Path, tmp_path: Path) -> None:
    added = batch_b3()[1]
    added["bells.csv"][1][-1] = "=HYPERLINK(A1)"
    added["batches.csv"][1][-1] = "'@x"
    add_sheets(book, write(tmp_path / "typed", added))
    assert b"'=HYPERLINK(A1)" in (book / "bells.csv").read_bytes()
    read, _ = read_book(book)
    assert read.bells["note"].iloc[-1] == "=HYPERLINK(A1)" and read.batches["note"].iloc[-1] == "@x"


def test_what_is_left_blank_comes_from_a_batch_like_it(book: Path, tmp_path: Path) -> None:
    added = batch_b3()[1]
    added["batches.csv"] = [["batch_id", "spun_on", "wall_in", "anneal"], ["B3", "2025-06-01", "", "none"]]
    add_sheets(book, write(tmp_path / "typed", added), like="B1")
    read, _ = read_book(book)
    filled = read.conditions("B3")
    assert filled.wall_mm == pytest.approx(0.5, abs=1e-9), "in the sheet's own inches"
    assert replace(filled, wall_mm=0.5) == replace(read.conditions("B1"), name="B3", anneal="none")
    assert read.batches["revision"].tolist() == [0, 0, 1], (
        "the revision is that of the day, not the like batch's"
    )
    with pytest.raises(BookError, match="there is no batch 'B9' in the book"):
        add_sheets(book, tmp_path / "typed", like="B9")


def changed(name: str, row: int, column: int, new: str) -> Sheets:
    added = batch_b3()[1]
    added[name][row][column] = new
    return added


@pytest.mark.parametrize(
    ("added", "place", "reason"),
    [
        (
            changed("measurements.csv", 3, 5, "abc"),
            "typed/measurements.csv:4:value_mm",
            "'abc' is not a number",
        ),
        (changed("batches.csv", 1, 0, "B1"), "typed/batches.csv:2:batch_id", "'B1' stands twice"),
        (changed("bells.csv", 1, 1, "B9"), "typed/bells.csv:2:batch_id", "'B9' is unknown"),
        (changed("batches.csv", 1, 1, "2024-06-01"), "typed/batches.csv:2:spun_on", "no revision in force"),
    ],
)
def test_a_fault_in_the_sheets_is_found_there_and_nothing_changes(
    added: Sheets, place: str, reason: str, book: Path, tmp_path: Path
) -> None:
    before = contents(book)
    with pytest.raises(BookError) as caught:
        add_sheets(book, write(tmp_path / "typed", added))
    assert any(finding.place() == place and reason in finding.what for finding in caught.value.findings)
    assert contents(book) == before


def test_another_value_at_the_same_place_is_refused(book: Path, typed: Path, tmp_path: Path) -> None:
    add_sheets(book, typed)
    before = contents(book)
    added = changed("measurements.csv", 3, 5, "13.499")
    with pytest.raises(
        BookError, match=r"retyped/measurements\.csv:4:value_mm: bell 'B3-1' has another value"
    ):
        add_sheets(book, write(tmp_path / "retyped", added))
    assert contents(book) == before


def test_an_empty_book_can_be_filled_from_nothing(tmp_path: Path) -> None:
    for units in ("mm", "in"):
        folder = new_book(tmp_path / units, units=units)
        assert check_book(folder) == ()
        add_sheets(folder, write(tmp_path / f"typed-{units}", sheets()))
        assert read_book(folder)[0].digest == read_book(tmp_path / "typed-mm")[0].digest
        assert [finding.grade for finding in check_book(folder / "form.xlsx")] == []
        with pytest.raises(BookError, match="something there already"):
            new_book(folder)


# --- places that cannot be written to ---
