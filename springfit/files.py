"""Putting files in place: whole or not at all, and through to the disk before the old ones go.

Every file of the program is written here. The data goes to a hidden name in the same folder, is flushed to the disk
(fsync), takes its name by one rename, and the folder's list of names is flushed after it: after a power cut there is
the old file or the new one, never half of one. (The order is the one that POSIX `rename` and `fsync` ask for.)
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

__all__ = ["sync_folder", "write_file", "write_files", "write_folder"]


def write_file(path: Path, data: bytes) -> None:
    """Writes one file, over an older one too. Raises OSError, what was there before being left as it was."""
    write_files({path.name: data}, path.parent)


def write_files(contents: Mapping[str, bytes], out: Path) -> tuple[Path, ...]:
    """Writes every file of `contents` (name to bytes) into the folder `out`, all or none, and returns their paths.

    Everything is on the disk under hidden names before the first file gets its own; when one cannot take its place
    (OSError) those before it are put back. A power cut amid the renames can leave whole new files beside whole old
    ones: where that matters, as in a record book, `write_folder` makes all of them good by one rename. Raises OSError
    when the folder cannot be made or written.
    """
    out.mkdir(parents=True, exist_ok=True)
    waiting = [_Waiting(out / name, out / f".{name}.{os.getpid()}") for name in contents]
    try:
        for file, data in zip(waiting, contents.values(), strict=True):
            _write_through(file.new, data)
        _keep_replaced(waiting)
        _move(waiting)
        sync_folder(out)
    finally:
        for file in waiting:
            file.new.unlink(missing_ok=True)
            file.old.unlink(missing_ok=True)
    return tuple(file.final for file in waiting)


def write_folder(contents: Mapping[str, bytes], folder: Path, *, through: Path | None = None) -> None:
    """Makes `folder` with every file of `contents` (relative path to bytes) in it, by one rename: whole or not at all.

    `through`: the hidden folder beside it that the files are written in first, where its name has to be known.
    An empty folder at `folder` is replaced. Raises OSError, nothing left behind, when there is anything else or it
    cannot be made.
    """
    making = through or folder.with_name(f".{folder.name}.making-{os.getpid()}")
    shutil.rmtree(making, ignore_errors=True)  # what a process of the same number left when it was stopped
    try:
        making.mkdir(parents=True)
        for name, data in contents.items():
            (making / name).parent.mkdir(parents=True, exist_ok=True)
            _write_through(making / name, data)
        for inside, _, _ in os.walk(making, topdown=False):
            sync_folder(Path(inside))
        if folder.is_dir():
            folder.rmdir()
        os.rename(making, folder)
    except BaseException:
        shutil.rmtree(making, ignore_errors=True)
        raise
    sync_folder(folder.parent)


def sync_folder(folder: Path) -> None:
    """Flushes a folder's list of names to the disk, where the system can."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return  # a system that cannot open folders
    try:
        os.fsync(handle)
    except OSError:
        pass  # a file system that cannot flush folders
    finally:
        os.close(handle)


@dataclass(frozen=True)
class _Waiting:
    """A file about to take its place `final`; `stem` begins the hidden names beside it."""

    final: Path
    stem: Path

    @property
    def new(self) -> Path:
        """Where its data waits."""
        return self.stem.with_name(f"{self.stem.name}.part")

    @property
    def old(self) -> Path:
        """Where the file it replaces is kept until all are in place."""
        return self.stem.with_name(f"{self.stem.name}.kept")


def _keep_replaced(waiting: list[_Waiting]) -> None:
    """Copies of the files about to be replaced; a single one needs none, its rename cannot be half done."""
    for file in waiting if len(waiting) > 1 else ():
        if file.final.is_file():
            shutil.copy2(file.final, file.old)


def _move(waiting: list[_Waiting]) -> None:
    """Gives every file its name; when one cannot take it, those before it are put back."""
    moved: list[_Waiting] = []
    try:
        for file in waiting:
            os.replace(file.new, file.final)
            moved.append(file)
    except OSError:
        for file in reversed(moved):
            if file.old.exists():
                os.replace(file.old, file.final)
            else:
                file.final.unlink(missing_ok=True)
        raise


def _write_through(path: Path, data: bytes) -> None:
    """Writes a new file through to the disk; what a stopped process of the same number left of it goes first."""
    path.unlink(missing_ok=True)
    with open(path, "xb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
