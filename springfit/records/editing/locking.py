"""One change of a book at a time, an unfinished one finished first; what stops the writing, as findings."""

from __future__ import annotations

import errno
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import filelock

from springfit.findings import BookError, Finding

__all__ = ["held", "not_written"]

_PATIENCE = 120  # seconds that one change waits for another; assumed


@contextmanager
def held(book: Path, lock: Path, finish: Callable[[], None]) -> Iterator[None]:
    """Holds the book by its `lock` for a change, having finished an earlier one.

    Raises BookError when it is held for long, or cannot be written.
    """
    try:
        with filelock.FileLock(lock, timeout=_PATIENCE):
            finish()
            yield
    except filelock.Timeout:
        raise not_written(book, "another addition is under way", "wait until it is done") from None
    except OSError as failed:
        raise not_written(book, *_reason(failed)) from None


def _reason(failed: OSError) -> tuple[str, str]:
    """What stopped the writing, and what to do."""
    if failed.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return "there is no room left to write", "free some room and add again"
    if failed.errno in (errno.EROFS, errno.EACCES, errno.EPERM):
        return (
            "the book cannot be written to (read-only)",
            "copy it to where you may write, or ask for the right",
        )
    return f"writing failed ({failed.strerror or failed})", "see to the disk and add again"


def not_written(folder: Path, what: str, remedy: str) -> BookError:
    expected = "a book that can be written"
    return BookError(
        [Finding("error", str(folder), None, None, f"{what}; nothing was changed", expected, remedy)]
    )
