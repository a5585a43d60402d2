"""Putting files in place: whole or not at all, and through to the disk before the old ones go.

Every file of the program is written here, but for the log at the bench, which only grows. The data goes to a hidden
name in the same folder, is flushed to the disk (fsync), takes its name by one rename, and the folder's list of names is
flushed after it: after a power cut there is the old file or the new one, never half of one. (The order is the one that
POSIX `rename` and `fsync` ask for.) What a stopped process leaves under hidden names goes with the next writing into
that folder (`unfinished`).
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from pathlib import Path

from springfit.unfinished import MADE, PART, finish_files, hidden_name, move_out, sweep, sync_folder

__all__ = ["finish_files", "sync_folder", "write_file", "write_files", "write_folder"]


def write_file(path: Path, data: bytes) -> None:
    """Writes one file, over an older one too. Raises OSError, what was there before being left as it was."""
    path.parent.mkdir(parents=True, exist_ok=True)
    sweep(path.parent)
    new = path.with_name(hidden_name(path.name, PART))
    try:
        _write_through(new, data)
        os.replace(new, path)
        sync_folder(path.parent)
    finally:
        new.unlink(missing_ok=True)


def write_files(contents: Mapping[str, bytes], out: Path) -> tuple[Path, ...]:
    """Writes every file of `contents` (name to bytes) into the folder `out`, all or none, and returns their paths.

    They are written into a hidden folder, which one rename makes good; from then on they are only moved to their
    places. Where a power cut or a kill comes between, `finish_files` moves the rest: whoever reads or writes them next
    calls it. When one cannot take its place (OSError) those before it are put back. Raises OSError when the folder
    cannot be made or written.
    """
    paths = tuple(out / name for name in contents)
    if len(contents) == 1:
        write_file(paths[0], *contents.values())
        return paths
    finish_files(out)
    made = out / hidden_name("files", MADE)
    write_folder(contents, made, through=made.with_suffix(PART))
    try:
        move_out(made, [path.name for path in paths])
    except OSError:
        shutil.rmtree(made, ignore_errors=True)
        raise
    return paths


def write_folder(contents: Mapping[str, bytes], folder: Path, *, through: Path | None = None) -> None:
    """Makes `folder` with every file of `contents` (relative path to bytes) in it, by one rename: whole or not at all.

    `through`: the hidden folder beside it that the files are written in first, where its name has to be known.
    An empty folder at `folder` is replaced. Raises OSError, nothing left behind, when there is anything else or it
    cannot be made.
    """
    sweep(folder.parent)
    making = through or folder.with_name(hidden_name(folder.name, PART))
    shutil.rmtree(making, ignore_errors=True)  # what an earlier writing left of it
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


def _write_through(path: Path, data: bytes) -> None:
    """Writes a new file through to the disk; what another thread left of it goes first."""
    path.unlink(missing_ok=True)
    with open(path, "xb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
