"""Additions that are killed, or meet another: the book is the old one or the new one, never a third.

`SPRINGFIT_KILLS` sets how many additions are killed (2 in the default run; 100 when the writing of files is changed).
"""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from pathlib import Path

import pytest

from springfit.records import add_sheets, read_book
from tests.helpers.books.books_to_add import batch_b3, contents
from tests.helpers.books.small_book import Sheets, sheets, write
from tests.helpers.programs.dying import die_before

KILLS = int(os.environ.get("SPRINGFIT_KILLS", "2"))


class Adding:
    """An addition in a process of its own, forked from this one, which has loaded everything; it waits for `start`."""

    def __init__(self, book: Path, typed: Path) -> None:
        there, self._go = os.pipe()
        self._id = os.fork()
        if self._id:
            os.close(there)
            return
        os.close(self._go)
        code = 1
        try:
            os.read(there, 1)
            add_sheets(book, typed)
            code = 0
        except BaseException as failed:
            print(repr(failed), file=sys.stderr, flush=True)
        finally:
            os._exit(code)

    def start(self) -> None:
        """Let it add."""
        os.write(self._go, b"1")

    def kill(self) -> None:
        """End it wherever it is."""
        os.kill(self._id, signal.SIGKILL)

    def ended(self) -> int:
        """Its exit code, waited for."""
        os.close(self._go)
        return os.waitstatus_to_exitcode(os.waitpid(self._id, 0)[1])


def seconds_of_one(tmp_path: Path, typed: Path) -> float:
    """How long an addition takes in a process like those that will be killed."""
    process = Adding(write(tmp_path / "timed", batch_b3()[0]), typed)
    begin = time.perf_counter()
    process.start()
    process.ended()
    return time.perf_counter() - begin


def test_killed_at_any_instant_the_book_is_old_or_new(tmp_path: Path) -> None:
    typed = write(tmp_path / "typed", batch_b3()[1])
    old = read_book(write(tmp_path / "old", batch_b3()[0]))[0].digest
    new = read_book(write(tmp_path / "new", sheets()))[0].digest
    whole = seconds_of_one(tmp_path, typed)
    chance = random.Random(20250301)
    seen = {old: 0, new: 0}
    for number in range(KILLS):
        book = write(tmp_path / f"book-{number}", batch_b3()[0])
        process = Adding(book, typed)
        process.start()
        time.sleep(chance.uniform(0.3 * whole, 1.3 * whole))
        process.kill()
        process.ended()
        digest = read_book(book)[0].digest
        assert digest in seen
        seen[digest] += 1
        add_sheets(book, typed)  # whatever was left behind, the next addition finds its way
        assert read_book(book)[0].digest == new
        assert not [path for path in book.iterdir() if path.name.startswith(".springfit-") and path.is_dir()]
    print(f"{KILLS} kills: {seen[old]} old, {seen[new]} new")


@pytest.mark.parametrize("every", [8, pytest.param(1, marks=pytest.mark.benchmark)])
def test_killed_at_each_step_of_writing_the_book_is_old_or_new(every: int, tmp_path: Path) -> None:
    """The process kills itself before its first, second ... change to the files, until it gets through."""
    typed = write(tmp_path / "typed", batch_b3()[1])
    old = read_book(write(tmp_path / "old", batch_b3()[0]))[0].digest
    new = read_book(write(tmp_path / "new", sheets()))[0].digest
    seen = []
    for step in range(0, 100, every):
        book = write(tmp_path / f"book-{step}", batch_b3()[0])
        process = os.fork()
        if process == 0:
            die_before(step)
            add_sheets(book, typed)
            os._exit(0)
        _, status = os.waitpid(process, 0)
        digest = read_book(book)[0].digest
        assert digest in (old, new)
        seen.append(digest)
        if os.WIFEXITED(status):
            break
        if step % (3 * every) == 0:  # whatever was left behind, the next addition finds its way
            add_sheets(book, typed)
            assert read_book(book)[0].digest == new
    assert every * len(seen) > 12 and seen == sorted(seen, key=[old, new].index), "old, then new for good"


def other_batch() -> Sheets:
    """Sheets of another new batch, B4, like B3."""
    added = batch_b3()[1]
    for rows in added.values():
        for row in rows[1:]:
            row[:2] = [cell.replace("B3", "B4") for cell in row[:2]]
            if len(row) > 5 and row[2] == "outside_diameter":
                row[5] = f"{float(row[5]) + 0.005:.3f}"
    return added


def test_two_additions_at_once_are_both_there(tmp_path: Path) -> None:
    book = write(tmp_path / "book", batch_b3()[0])
    typed = [write(tmp_path / "b3", batch_b3()[1]), write(tmp_path / "b4", other_batch())]
    processes = [Adding(book, sheet) for sheet in typed]
    for process in processes:
        process.start()
    assert [process.ended() for process in processes] == [0, 0]
    assert read_book(book)[0].batches["batch_id"].tolist()[:2] == ["B1", "B2"]
    assert set(read_book(book)[0].batches["batch_id"]) == {"B1", "B2", "B3", "B4"}
    assert {"replaced/0001/batches.csv", "replaced/0002/batches.csv"} <= set(contents(book))


def test_two_additions_of_one_batch_are_one(tmp_path: Path) -> None:
    book = write(tmp_path / "book", batch_b3()[0])
    typed = write(tmp_path / "typed", batch_b3()[1])
    processes = [Adding(book, typed) for _ in range(2)]
    for process in processes:
        process.start()
    assert [process.ended() for process in processes] == [0, 0]
    assert read_book(book)[0].digest == read_book(write(tmp_path / "new", sheets()))[0].digest


@pytest.mark.parametrize("rounds", [4, pytest.param(8, marks=pytest.mark.benchmark)])
def test_a_reader_beside_a_writer_sees_whole_books_only(rounds: int, tmp_path: Path) -> None:
    book = write(tmp_path / "book", batch_b3()[0])
    typed = write(tmp_path / "typed", batch_b3()[1])
    allowed = {
        read_book(book)[0].digest,
        read_book(write(tmp_path / "new", sheets()))[0].digest,
    }
    process = Adding(book, typed)
    process.start()
    for _ in range(rounds):
        assert read_book(book)[0].digest in allowed
    assert process.ended() == 0
