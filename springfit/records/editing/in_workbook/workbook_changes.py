"""Changing a book that is one workbook: the old file or the new one, whenever the power fails, and one taken back.

Beside the workbook stands `NAME.replaced`, as the folder `replaced` stands in a book of CSV files. A change is written
there whole first (one rename of its numbered folder); the one rename of the new workbook out of it on to the old one
makes it good. So where a numbered folder still holds the new workbook its change never happened, and where it no
longer holds the old one it was taken back: either is tidied away by whoever changes the book next. What the journal
says of a change is moved to its place after that, by the next one if need be.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Mapping
from pathlib import Path

from springfit.files import sync_folder, write_folder

__all__ = ["change_workbook", "finish_workbook", "undo_workbook"]

_WRITING = ".writing"  # of a numbered folder: not whole yet, or being thrown away
_NEW, _OLD = "new.xlsx", "before.xlsx"
_LOG = "log-"  # begins the names of files that stand when the change is taken back
_NOTE, _WRITTEN = "what-was-added.txt", "files-written.json"


def change_workbook(path: Path, data: bytes, *, note: str, log: Mapping[str, bytes]) -> None:
    """Puts `data` in place of the workbook, which is kept beside with the `note`; files of the `log` go beside it too.

    The caller holds the book's lock and has finished any earlier change. Raises OSError, nothing changed.
    """
    kept = _kept(path)
    number = kept / f"{max(_numbers(kept), default=0) + 1:04d}"
    contents = {
        _OLD: path.read_bytes(),
        _NEW: data,
        _NOTE: note.encode(),
        _WRITTEN: json.dumps({path.name: _mark(data)}).encode(),
        **{f"{_LOG}{name}": text for name, text in log.items()},
    }
    write_folder(contents, number, through=kept / _WRITING)
    shutil.copymode(path, number / _NEW)
    os.replace(number / _NEW, path)
    sync_folder(path.parent)
    finish_workbook(path)


def undo_workbook(path: Path) -> tuple[str, tuple[str, ...]]:
    """Puts the workbook back as it was before the last change: (its note, the file).

    The caller holds the book's lock and has finished any earlier change. Raises LookupError, saying why, when there is
    nothing to take back or it was changed since; OSError when it cannot be written; nothing changed in either case.
    """
    kept = _kept(path)
    if not (numbers := _numbers(kept)):
        raise LookupError("nothing was added that could be taken back")
    last = kept / f"{numbers[-1]:04d}"
    try:
        mark = json.loads((last / _WRITTEN).read_text(encoding="utf-8"))[path.name]
        note = (last / _NOTE).read_text(encoding="utf-8").strip()
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        raise LookupError(f"what was added last is not known; the workbook before it is in {last}") from None
    if _mark(path.read_bytes()) != mark:
        raise LookupError(f"{path.name} was changed since; the workbook before the addition is in {last}")
    os.replace(last / _OLD, path)
    sync_folder(path.parent)
    finish_workbook(path)
    return note, (path.name,)


def finish_workbook(path: Path) -> None:
    """Tidies what a change that was stopped left behind; the workbook itself is the old one or the new one already."""
    kept = _kept(path)
    if not kept.is_dir():
        return
    shutil.rmtree(kept / _WRITING, ignore_errors=True)
    for number in _numbers(kept):
        one = kept / f"{number:04d}"
        if (one / _NEW).exists() or not (one / _OLD).exists():
            os.rename(one, kept / _WRITING)  # at once, so that never half of it is taken for a change
            shutil.rmtree(kept / _WRITING)
            continue
        for log in sorted(one.glob(f"{_LOG}*")):
            os.replace(log, path.with_name(log.name.removeprefix(_LOG)))
    if not any(kept.iterdir()):
        kept.rmdir()
    sync_folder(path.parent)


def _kept(path: Path) -> Path:
    return path.with_name(f"{path.name}.replaced")


def _mark(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _numbers(kept: Path) -> list[int]:
    """The numbers of the changes that are kept, in order."""
    entries = kept.iterdir() if kept.is_dir() else ()
    return sorted(int(entry.name) for entry in entries if entry.name.isdecimal())
