"""Books that cannot be added to: read-only, on a full disk, or no books at all; nothing is changed."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest

from springfit.findings import BookError
from springfit.records import add_sheets, new_book
from tests.helpers.books.books_to_add import contents


def in_a_process(before: Callable[[], object], book: Path, typed: Path) -> tuple[int, str]:
    """Exit code and standard error of an addition in a process forked from this one, `before` done there first."""
    heard, said = os.pipe()
    process = os.fork()
    if not process:
        os.dup2(said, 2)
        code = 1
        try:
            before()
            add_sheets(book, typed)
            code = 0
        except BaseException as failed:
            os.write(2, str(failed).encode())
        finally:
            os._exit(code)
    os.close(said)
    with os.fdopen(heard) as stream:
        words = stream.read()
    return os.waitstatus_to_exitcode(os.waitpid(process, 0)[1]), words


def as_nobody() -> None:
    """Root may write anywhere."""
    if os.getuid() == 0:
        os.setgid(65534)
        os.setuid(65534)


@pytest.mark.skipif(not hasattr(os, "setuid"), reason="this system has no users to change to")
def test_a_read_only_book_is_said_to_be_one(book: Path, typed: Path) -> None:
    before = contents(book)
    for path in (book, *book.rglob("*")):
        path.chmod(0o555 if path.is_dir() else 0o444)
    for folder in book.parents:  # pytest keeps its folders to their owner
        if folder.stat().st_uid == os.getuid() and Path(tempfile.gettempdir()) in folder.parents:
            folder.chmod(0o755)
    code, said = in_a_process(as_nobody, book, typed)
    assert code == 1 and "the book cannot be written to (read-only); nothing was changed" in said, said
    book.chmod(0o755)
    assert contents(book) == before


@pytest.mark.parametrize("room", [0, 100, 3000])
def test_no_room_on_the_disk_changes_nothing(room: int, book: Path, typed: Path) -> None:
    import resource  # not every system has it

    before = contents(book)
    code, said = in_a_process(lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (room, room)), book, typed)
    assert code == 1 and "no room left to write; nothing was changed" in said, said
    assert contents(book) == before


def test_a_folder_that_is_no_book_is_left_alone(tmp_path: Path) -> None:
    book, sheets = tmp_path / "pictures", tmp_path / "sheets"
    book.mkdir()
    (book / "bell.png").write_bytes(b"picture")
    new_book(sheets)
    with pytest.raises(BookError, match="not a record book"):
        add_sheets(book, sheets)
    assert [path.name for path in book.iterdir() if not path.name.startswith(".")] == ["bell.png"]


def test_a_folder_without_sheets_is_refused(tmp_path: Path) -> None:
    book, nothing = new_book(tmp_path / "book"), tmp_path / "nothing"
    nothing.mkdir()
    with pytest.raises(BookError, match="no sheet"):
        add_sheets(book, nothing)
