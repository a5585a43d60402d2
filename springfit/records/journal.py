"""Changing several files of a book at once: readers see all of a change or none, whenever the power fails.

A change is written to a hidden folder inside the book and made good by one rename of that folder. From then
on its files stand for those of the same name in the book; moving them there is only tidying, done at once or
by the next change. Readers look at both places and read again when either changed meanwhile.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from springfit.files import sync_folder, write_folder

__all__ = ["book_files", "change_files", "finish_change", "undo_change"]

_WRITING = ".springfit-writing"  # a change not yet made good: worth nothing
_MADE_GOOD = ".springfit-change"  # a change made good, its files not all moved yet
_KEPT = "replaced"  # folder of the files as they were, one numbered folder a change
_WRITTEN = "files-written.json"  # in it: name and hash of every file that the change wrote
_UNDO = ".springfit-undo"  # in a change made good: what it takes away
_TRIES = 50  # at reading between two changes; no book is changed as often while it is read

FileState = tuple[str, int, int, int]


def book_files(folder: Path, *, largest: int) -> dict[str, bytes | int]:
    """Name and bytes of every CSV file of the book at one moment; of those above `largest` only the size.

    Raises OSError when the folder cannot be read, or is being changed all the time.
    """
    for _ in range(_TRIES):
        try:
            before = _state(folder)
            files: dict[str, bytes | int] = {}
            for name, path in sorted(_csv_paths(folder).items(), key=_in_order):
                size = path.stat().st_size
                files[name] = path.read_bytes() if size <= largest else size
            if _state(folder) == before:
                return files
        except FileNotFoundError:
            if not folder.is_dir():
                raise
    raise OSError(None, "its files keep changing")


def change_files(
    folder: Path, files: Mapping[str, bytes], *, note: str, log: Mapping[str, bytes] | None = None
) -> None:
    """Writes `files` into the book, all or none; what they replace is kept beside, with `note`. Files of the `log` are
    written in the same moment, and stand when the change is taken back.

    The caller holds the book's lock and has finished any earlier change. Raises OSError, nothing changed.
    """
    kept = f"{_KEPT}/{_next_number(folder)}"
    marks = {name: _mark(data) for name, data in files.items()}
    replaced = {f"{kept}/{name}": (folder / name).read_bytes() for name in files if (folder / name).exists()}
    said = {f"{kept}/what-was-added.txt": note.encode(), f"{kept}/{_WRITTEN}": json.dumps(marks).encode()}
    contents = {**replaced, **said, **files, **(log or {})}
    write_folder(contents, folder / _MADE_GOOD, through=folder / _WRITING)
    finish_change(folder)


def undo_change(folder: Path) -> tuple[str, tuple[str, ...]]:
    """Puts the files back as they were before the last change: (its note, the files concerned).

    The caller holds the book's lock and has finished any earlier change. Raises LookupError, saying why, when there is
    nothing to take back or files were changed since; OSError when it cannot be written; nothing changed in either case.
    """
    numbers = _numbers(folder)
    if not numbers:
        raise LookupError("nothing was added that could be taken back")
    kept = folder / _KEPT / f"{numbers[-1]:04d}"
    try:
        marks: dict[str, str] = json.loads((kept / _WRITTEN).read_text(encoding="utf-8"))
        note = (kept / "what-was-added.txt").read_text(encoding="utf-8").strip()
    except (OSError, ValueError, RecursionError):
        raise LookupError(f"what was added last is not known; the files before it are in {kept}") from None
    if not (isinstance(marks, dict) and all(_is_plain(name) for name in marks)):
        raise LookupError(f"what was added last is not known; the files before it are in {kept}")
    for name, mark in marks.items():
        path = folder / name
        if not path.is_file() or _mark(path.read_bytes()) != mark:
            raise LookupError(f"{name} was changed since; the files before the addition are in {kept}")
    back = {name: (kept / name).read_bytes() for name in marks if (kept / name).is_file()}
    gone = {"removed": [name for name in marks if name not in back], "undone": kept.name}
    contents = {**back, _UNDO: json.dumps(gone).encode()}
    write_folder(contents, folder / _MADE_GOOD, through=folder / _WRITING)
    finish_change(folder)
    return note, tuple(marks)


def finish_change(folder: Path) -> None:
    """Moves the files of a change that was made good to their places; throws an unfinished one away."""
    shutil.rmtree(folder / _WRITING, ignore_errors=True)
    made_good = folder / _MADE_GOOD
    if not made_good.is_dir():
        return
    kept = made_good / _KEPT
    for number in sorted(kept.iterdir()) if kept.is_dir() else ():
        (folder / _KEPT).mkdir(exist_ok=True)
        os.rename(number, folder / _KEPT / number.name)
    for path in sorted(made_good.iterdir()):
        if path.is_file() and path.name != _UNDO:
            os.replace(path, folder / path.name)
    gone = _gone(folder)
    for name in gone["removed"]:
        (folder / name).unlink(missing_ok=True)
    sync_folder(folder)
    if gone["undone"]:
        shutil.rmtree(folder / _KEPT / gone["undone"], ignore_errors=True)
        # Stopped right after this, it is done again, and the folder is gone already.
        if (folder / _KEPT).is_dir() and not any((folder / _KEPT).iterdir()):
            (folder / _KEPT).rmdir()
    shutil.rmtree(made_good)
    sync_folder(folder)


def _csv_paths(folder: Path) -> dict[str, Path]:
    """Name and place of every CSV file, without those that spreadsheets and editors hide."""
    found: dict[str, Path] = {}
    for place in (folder, folder / _MADE_GOOD):
        for entry in os.scandir(place) if place.is_dir() else ():
            if (
                entry.name.lower().endswith(".csv")
                and not entry.name.startswith((".", "~$"))
                and entry.is_file()
            ):
                found[entry.name] = Path(entry.path)
    for name in _gone(folder)["removed"]:
        found.pop(name, None)
    return found


def _gone(folder: Path) -> dict[str, Any]:
    """What a change made good takes away: files `removed`, and the number of the change `undone`; nothing where that is
    not said as we say it, for a book may come from anybody."""
    nothing: dict[str, Any] = {"removed": [], "undone": ""}
    try:
        said = json.loads((folder / _MADE_GOOD / _UNDO).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return nothing
    if not (isinstance(said, dict) and isinstance(said.get("removed"), list) and isinstance(said.get("undone"), str)):
        return nothing
    sound = all(_is_plain(name) for name in said["removed"]) and said["undone"].isdecimal()
    return said if sound else nothing


def _is_plain(name: object) -> bool:
    """Whether it is the name of a file in the book's own folder, and leads nowhere else."""
    return isinstance(name, str) and name not in ("", ".", "..") and Path(name).name == name


def _mark(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _in_order(named: tuple[str, Path]) -> str:
    """Sorts `bells.csv` before `bells-02.csv`."""
    return named[0].lower().removesuffix(".csv")


def _state(folder: Path) -> list[FileState]:
    """What would differ if any CSV file had been written, moved or removed."""
    stats = ((name, path.stat()) for name, path in _csv_paths(folder).items())
    return sorted((name, stat.st_ino, stat.st_size, stat.st_mtime_ns) for name, stat in stats)


def _next_number(folder: Path) -> str:
    return f"{max(_numbers(folder), default=0) + 1:04d}"


def _numbers(folder: Path) -> list[int]:
    """The numbers of the changes that are kept, in order."""
    kept = folder / _KEPT
    entries = kept.iterdir() if kept.is_dir() else ()
    return sorted(int(entry.name) for entry in entries if entry.name.isdecimal())
