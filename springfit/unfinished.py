"""What a process that was stopped left of its writing: files made good are moved to their places, all else goes.

Hidden names carry the number and the mark of the process that writes under them, so that two may write into one
folder. Those of a process that is no more are nobody's: without this every kill or power cut would leave a little
behind for ever.
"""

from __future__ import annotations

import os
import re
import secrets
import shutil
import time
from collections.abc import Sequence
from pathlib import Path

__all__ = ["MADE", "PART", "finish_files", "hidden_name", "move_out", "sweep", "sync_folder"]

_HIDDEN = ".springfit-"  # begins hidden names
PART, MADE = ".part", ".made"  # end hidden names: being written; whole, its files on their way to their places
_KEPT = ".kept"  # inside a folder of files made good: those that they replace, until all are in place
_MARK = secrets.token_hex(4)  # tells this process from an earlier one of the same number
_NAME = re.compile(rf"{re.escape(_HIDDEN)}.*-(\d+)-([0-9a-f]{{8}})({re.escape(PART)}|{re.escape(MADE)})", re.DOTALL)
_OLD_SECONDS = 3600.0  # where a system cannot say whether a process lives: no writing takes an hour


def hidden_name(name: str, end: str) -> str:
    """A hidden name for the file or folder `name`, of this process: `end` says what becomes of it when it is left."""
    return f"{_HIDDEN}{name}-{os.getpid()}-{_MARK}{end}"


def finish_files(out: Path) -> None:
    """Moves files that a stopped process made good to their places in `out`, and sweeps what it left besides.

    Raises OSError when that cannot be done.
    """
    for made in sorted(out.glob(f"{_HIDDEN}*{MADE}")):
        if _is_left(made):
            move_out(made, sorted(path.name for path in made.iterdir() if path.is_file()))
    sweep(out)


def sweep(folder: Path) -> None:
    """Takes away what stopped processes left half written in `folder`."""
    for path in folder.glob(f"{_HIDDEN}*{PART}"):
        if _is_left(path):
            if path.is_dir():
                shutil.rmtree(path, ignore_errors=True)
            else:
                path.unlink(missing_ok=True)


def move_out(made: Path, names: Sequence[str]) -> None:
    """Moves the files `names` from the folder `made` to the one it stands in, and takes it away.

    When one cannot take its place those before it are put back and OSError is raised, `made` being left.
    """
    out, kept = made.parent, made / _KEPT
    kept.mkdir(exist_ok=True)
    moved: list[str] = []
    try:
        for name in names:
            if (out / name).is_file():
                shutil.copy2(out / name, kept / name)
        for name in names:
            os.replace(made / name, out / name)
            moved.append(name)
    except OSError:
        for name in reversed(moved):
            if (kept / name).exists():
                os.replace(kept / name, out / name)
            else:
                (out / name).unlink(missing_ok=True)
        raise
    sync_folder(out)
    shutil.rmtree(made)
    sync_folder(out)


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


def _is_left(path: Path) -> bool:
    """Whether the process that wrote under this hidden name is no more."""
    named = _NAME.fullmatch(path.name)
    if named is None or (named.group(2) == _MARK and int(named.group(1)) == os.getpid()):
        return False
    if int(named.group(1)) == os.getpid():
        return True  # of an earlier one that had our number
    if os.name != "posix":  # asking after a process by a signal would end it there
        return time.time() - path.stat().st_mtime > _OLD_SECONDS
    try:
        os.kill(int(named.group(1)), 0)
    except ProcessLookupError:
        return True
    except (OSError, OverflowError):
        return False  # another user's, so it lives
    return False
