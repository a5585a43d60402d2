"""Changing several files of a book at once: readers see all of a change or none, whenever the power fails.

A change is written to a hidden folder inside the book and made good by one rename of that folder. From then
on its files stand for those of the same name in the book; moving them there is only tidying, done at once or
by the next change. Readers look at both places and read again when either changed meanwhile.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from pathlib import Path

from springfit.files import sync_folder, write_folder

__all__ = ["book_files", "change_files", "finish_change"]

_WRITING = ".springfit-writing"  # a change not yet made good: worth nothing
_MADE_GOOD = ".springfit-change"  # a change made good, its files not all moved yet
_KEPT = "replaced"  # folder of the files as they were, one numbered folder a change
_TRIES = 50  # at reading between two changes

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


def change_files(folder: Path, files: Mapping[str, bytes], *, note: str) -> None:
    """Writes `files` into the book, all or none; what they replace is kept beside, with `note`.

    The caller holds the book's lock and has finished any earlier change. Raises OSError, nothing changed.
    """
    kept = f"{_KEPT}/{_next_number(folder)}"
    replaced = {f"{kept}/{name}": (folder / name).read_bytes() for name in files if (folder / name).exists()}
    contents = {**replaced, f"{kept}/what-was-added.txt": note.encode(), **files}
    write_folder(contents, folder / _MADE_GOOD, through=folder / _WRITING)
    finish_change(folder)


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
        if path.is_file():
            os.replace(path, folder / path.name)
    sync_folder(folder)
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
    return found


def _in_order(named: tuple[str, Path]) -> str:
    """Sorts `bells.csv` before `bells-02.csv`."""
    return named[0].lower().removesuffix(".csv")


def _state(folder: Path) -> list[FileState]:
    """What would differ if any CSV file had been written, moved or removed."""
    stats = ((name, path.stat()) for name, path in _csv_paths(folder).items())
    return sorted((name, stat.st_ino, stat.st_size, stat.st_mtime_ns) for name, stat in stats)


def _next_number(folder: Path) -> str:
    kept = folder / _KEPT
    numbers = [int(entry.name) for entry in kept.iterdir() if entry.name.isdecimal()] if kept.is_dir() else []
    return f"{max(numbers, default=0) + 1:04d}"
