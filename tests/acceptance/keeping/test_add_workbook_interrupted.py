"""A book that is one workbook, its change stopped at every step: the old one or the new one, and its journal whole."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from springfit.records import add_sheets, read_book
from springfit.records.editing.in_workbook.workbook_changes import finish_workbook
from springfit.records.editing.undoing import undo_addition
from tests.helpers.books.books_to_add import batch_b3, slipped
from tests.helpers.books.small_book import sheets, write
from tests.helpers.books.small_workbook import as_workbook
from tests.helpers.programs.dying import die_before


@pytest.mark.parametrize("what", ["add", "undo"])
@pytest.mark.parametrize("every", [7, pytest.param(1, marks=pytest.mark.benchmark)])
def test_killed_at_each_step_of_writing_the_workbook_is_old_or_new(
    every: int, what: str, tmp_path: Path, typed: Path
) -> None:
    """The process kills itself before its first, second ... change to the files, until it gets through."""
    files: list[Path] = []
    seen: list[bytes] = []
    for step in range(0, 100, every):
        folder = tmp_path / f"step-{step}"
        folder.mkdir()
        book = folder / "shop.xlsx"
        as_workbook(book, batch_b3()[0])
        old = book.read_bytes()
        if what == "undo":
            add_sheets(book, typed)
        before = book.read_bytes()
        process = os.fork()
        if process == 0:
            die_before(step)
            add_sheets(book, typed) if what == "add" else undo_addition(book)
            os._exit(0)
        _, status = os.waitpid(process, 0)
        seen.append(book.read_bytes())
        changed = seen[-1] != before
        finish_workbook(book)
        assert book.read_bytes() == seen[-1], "whoever comes next finds the same book"
        there = changed == (what == "add")
        assert read_book(book)[0].batches["batch_id"].tolist() == ["B1", "B2", *(["B3"] if there else [])]
        kept = folder / "shop.xlsx.replaced"
        assert kept.exists() == there and (not there or (kept / "0001" / "before.xlsx").read_bytes() == old)
        names = {path.name for path in folder.iterdir()} - {".shop.xlsx.springfit-lock"}
        assert names == {"shop.xlsx", *(["shop.xlsx.replaced"] if there else [])}, "nothing is left behind"
        files.append(book)
        if os.WIFEXITED(status):
            break
        assert os.WTERMSIG(status) == signal.SIGKILL
    changes = [data != first for data, first in zip(seen, [seen[0]] * len(seen), strict=True)]
    assert changes == sorted(changes) and changes[-1], "old, then new for good"
    assert every * len(seen) > 6


@pytest.mark.parametrize("every", [3, pytest.param(1, marks=pytest.mark.benchmark)])
def test_a_journal_entry_of_a_change_that_was_stopped_is_not_lost(every: int, tmp_path: Path) -> None:
    """Killed after the workbook was put in place and before its journal: the next change brings the entry there."""
    right = sheets()
    batch = next(row for row in right["batches.csv"] if row[0] == "B2")
    typed = write(tmp_path / "typed", {"batches.csv": [right["batches.csv"][0], batch]})
    said, between = [], False
    for step in range(0, 40, every):
        folder = tmp_path / f"step-{step}"
        folder.mkdir()
        book = folder / "shop.xlsx"
        as_workbook(book, slipped())
        old = book.read_bytes()
        process = os.fork()
        if process == 0:
            die_before(step)
            add_sheets(book, typed, replace_old=True)
            os._exit(0)
        _, status = os.waitpid(process, 0)
        new, journal = book.read_bytes() != old, folder / "shop.xlsx.journal.csv"
        between = between or (new and not journal.exists())
        finish_workbook(book)
        assert journal.exists() == new
        said.append(new)
        if os.WIFEXITED(status):
            break
    assert said == sorted(said) and said[-1] and not said[0] and between
