"""What was added is taken back, all or nothing, several steps deep, whenever the machine stops."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from springfit.cli import main
from springfit.findings import BookError
from springfit.records import add_sheets, read_book
from springfit.records.editing.undoing import undo_addition
from springfit.records.journal import finish_change
from tests.helpers.books.small_book import Rows, Sheets, sheets, write
from tests.helpers.programs.dying import die_before


def split(batch: str) -> tuple[Sheets, Sheets]:
    """The book without a batch, and that batch's sheets."""
    book, new = sheets(), sheets()
    names = ("batches.csv", "bells.csv", "measurements.csv")

    def of(rows: Rows, inside: bool) -> Rows:
        return [rows[0], *(row for row in rows[1:] if row[0].startswith(batch) == inside)]

    for name in names:
        book[name] = of(book[name], False)
    return book, {name: of(new[name], True) for name in names}


def contents(folder: Path) -> dict[str, bytes]:
    return {
        str(p.relative_to(folder)): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file() and p.name != ".springfit-lock"
    }


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return write(tmp_path / "book", split("B3")[0])


@pytest.fixture
def typed(tmp_path: Path) -> Path:
    return write(tmp_path / "typed", split("B3")[1])


def test_undo_takes_back_one_addition_after_another(book: Path, typed: Path, tmp_path: Path) -> None:
    begin = contents(book)
    more = {"measurements.csv": sheets()["measurements.csv"][:1], "gauges.csv": sheets()["gauges.csv"][:1]}
    more["gauges.csv"].append(["NEW", "caliper", "0.02", "0.2", ""])
    more["gauges.csv"][0] = [
        name.replace("_mm", "_in") for name in more["gauges.csv"][0]
    ]  # a file of its own
    add_sheets(book, write(tmp_path / "more", more))
    once = contents(book)
    assert any(name.startswith("gauges-") for name in once)
    add_sheets(book, typed)
    undo_addition(book)
    assert contents(book) == once
    assert main(["undo", str(book)]) == 0
    assert contents(book) == begin
    with pytest.raises(BookError, match="nothing was added"):
        undo_addition(book)


def test_an_undone_addition_can_be_added_again(book: Path, typed: Path) -> None:
    add_sheets(book, typed)
    digest = read_book(book)[0].digest
    undo_addition(book)
    add_sheets(book, typed)
    assert read_book(book)[0].digest == digest


def test_what_was_changed_by_hand_since_is_not_lost(book: Path, typed: Path) -> None:
    add_sheets(book, typed)
    path = book / "bells.csv"
    path.write_bytes(path.read_bytes().replace(b"rework", b"scrap"))
    before = contents(book)
    with pytest.raises(BookError, match=r"bells.csv was changed since"):
        undo_addition(book)
    assert contents(book) == before


@pytest.mark.parametrize("every", [7, pytest.param(1, marks=pytest.mark.benchmark)])
def test_stopped_at_each_step_the_book_is_old_or_new(every: int, book: Path, typed: Path) -> None:
    begin = read_book(book)[0].digest
    clean = contents(book)
    add_sheets(book, typed)
    added = read_book(book)[0].digest
    for step in range(0, 200, every):
        process = os.fork()
        if process == 0:
            die_before(step)
            undo_addition(book)
            os._exit(0)
        _, status = os.waitpid(process, 0)
        assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0
        found = read_book(book)[0].digest
        assert found in (begin, added)
        finish_change(book)
        assert read_book(book)[0].digest == found
        if os.WIFEXITED(status):
            break
        if found == begin:
            assert contents(book) == clean
            add_sheets(book, typed)
    assert step > 5 and contents(book) == clean
