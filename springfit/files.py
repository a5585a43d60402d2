"""Putting files in place, all of them or none."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

__all__ = ["write_files"]


def write_files(contents: Mapping[str, bytes], out: Path) -> tuple[Path, ...]:
    """Writes every file of `contents` (name to bytes) into the folder `out`, all or none, and returns their
    paths.

    Everything is on the disk under a hidden name before the first file gets its own, so a full disk or a
    fault leaves what was there before. Raises OSError when the folder cannot be made or written.
    """
    out.mkdir(parents=True, exist_ok=True)
    waiting = [(out / f".{name}.{os.getpid()}.part", out / name, data) for name, data in contents.items()]
    try:
        for part, _, data in waiting:
            part.write_bytes(data)
        for part, final, _ in waiting:
            part.replace(final)
    finally:
        for part, _, _ in waiting:
            part.unlink(missing_ok=True)
    return tuple(final for _, final, _ in waiting)
