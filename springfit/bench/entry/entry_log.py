"""One sheet's log: an event a line, flushed to the disk before anybody is told that it was taken.

A log only grows. Its last line may be torn where the power failed as it was written: such a line was never answered
for, so it is cut off before the next is written. Several processes may write one log, each under
the log's lock, each first reading what the others wrote.
"""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import filelock

from springfit.bench.entry.bench_sheet import BenchSheet, EventError, applied
from springfit.files import sync_folder

__all__ = ["EntryLog"]

_PATIENCE = 20  # seconds that one event waits for another process; who typed it is waiting
_LARGEST = 64 * 2**20  # bytes of one log: a thousand times a batch of 200 readings


class EntryLog:
    """The log at `path` and the sheet that its events make."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock = filelock.FileLock(path.with_suffix(".lock"), timeout=_PATIENCE, thread_local=False)
        self._read = 0  # bytes of the file that `_sheet` stands for
        self._sheet = BenchSheet(path.stem)

    def sheet(self) -> BenchSheet:
        """The sheet as it stands on the disk."""
        if self.path.exists() and self.path.stat().st_size != self._read:
            with self._lock:
                self._catch_up()
        return self._sheet

    def take(self, event: Mapping[str, Any]) -> BenchSheet:
        """Counts one event, on the disk when this returns; one counted before changes nothing.

        Raises EventError, OSError or filelock.Timeout, nothing written.
        """
        with self._lock:
            self._catch_up()
            after = applied(self._sheet, event)
            if after is self._sheet:
                return after
            line = json.dumps(event, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"
            self._append(line)
            self._sheet = after
            return after

    def _append(self, line: bytes) -> None:
        new = not self.path.exists()
        if self._read + len(line) > _LARGEST:
            raise EventError("found a sheet that is too large, expected one batch: finish it and begin another")
        with open(self.path, "r+b" if not new else "xb") as stream:
            stream.seek(self._read)
            stream.truncate()  # what a power cut left of a line that nobody was answered for
            stream.write(line)
            stream.flush()
            os.fsync(stream.fileno())
        if new:
            sync_folder(self.path.parent)
        self._read += len(line)

    def _catch_up(self) -> None:
        """Applies whole lines that stand in the file and were not read yet."""
        if not self.path.exists():
            return
        with open(self.path, "rb") as stream:
            stream.seek(self._read)
            new = stream.read()
        for line in new[: new.rfind(b"\n") + 1].splitlines(keepends=True):
            # A line that is no event is passed over, as it stands; the lines after it count.
            with contextlib.suppress(ValueError, RecursionError):
                self._sheet = applied(self._sheet, json.loads(line))
            self._read += len(line)
