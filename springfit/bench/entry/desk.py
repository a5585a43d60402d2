"""Every sheet in the making of one book: found on disk, begun, added to, put away when it is finished."""

from __future__ import annotations

import os
import re
import secrets
import threading
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from springfit.bench.entry.bench_sheet import BenchSheet, EventError
from springfit.bench.entry.entry_log import EntryLog
from springfit.files import sync_folder

__all__ = ["Desk"]

_FOLDER = ".springfit-bench"  # in the book: hidden, so that no reader of the book takes it for sheets
_DONE = "finished"
_SHEET_ID = re.compile(r"[0-9a-z]{8,40}")
_MOST_OPEN = 400  # sheets in the making at once: more of them are no shop's work


class Desk:
    """The sheets in the making of the book in `folder`; safe for several threads and processes."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / _FOLDER
        self._logs: dict[str, EntryLog] = {}
        self._guard = threading.Lock()
        self._of_sheet: dict[str, threading.Lock] = {}

    def take(self, sheet_id: str, event: Mapping[str, Any]) -> BenchSheet:
        """Counts one event of a sheet, which its start may begin; on the disk when this returns. EventError, OSError.

        A value that comes late, from a tablet that was out of reach as the sheet was finished, opens it again: finished
        once more, only what is new goes into the book.
        """
        if event.get("what") != "finished" and self.was_finished(sheet_id):
            self.reopen(sheet_id)
        log = self._log(sheet_id, begin=event.get("what") == "start")
        with self._lock(sheet_id):
            return log.take(event)

    def sheet(self, sheet_id: str) -> BenchSheet:
        """The sheet as it stands; KeyError for one that was never begun."""
        try:
            log = self._log(sheet_id, begin=False)
        except EventError:
            raise KeyError(sheet_id) from None
        with self._lock(sheet_id):
            return log.sheet()

    def open_sheets(self) -> list[BenchSheet]:
        """The sheets that are not in the book yet, in the order they were begun."""
        names = sorted(path.stem for path in self.folder.glob("*.jsonl")) if self.folder.is_dir() else []
        sheets = [self.sheet(name) for name in names if _SHEET_ID.fullmatch(name)]
        return sorted((one for one in sheets if one.begun and not one.finished), key=lambda one: one.begun_at)

    def put_away(self, sheet_id: str) -> None:
        """Moves the log of a finished sheet aside."""
        self._move(self.folder / f"{sheet_id}.jsonl", self.folder / _DONE / f"{sheet_id}.jsonl", sheet_id)

    def reopen(self, sheet_id: str) -> bool:
        """Opens a sheet that was finished again, with all that is in it; False where there is none."""
        aside, there = self.folder / _DONE / f"{sheet_id}.jsonl", self.folder / f"{sheet_id}.jsonl"
        if not _SHEET_ID.fullmatch(sheet_id) or not (aside.is_file() or there.is_file()):
            return False
        self._move(aside, there, sheet_id)
        self.take(sheet_id, {"id": f"reopen{secrets.token_hex(8)}", "what": "reopened"})
        return True

    def was_finished(self, sheet_id: str) -> bool:
        """Whether the sheet was put away."""
        return bool(_SHEET_ID.fullmatch(sheet_id)) and (self.folder / _DONE / f"{sheet_id}.jsonl").is_file()

    def _move(self, source: Path, to: Path, sheet_id: str) -> None:
        with self._lock(sheet_id):
            if source.exists():
                to.parent.mkdir(exist_ok=True)
                os.replace(source, to)
                sync_folder(to.parent)
                sync_folder(source.parent)
            self._logs.pop(sheet_id, None)

    def _log(self, sheet_id: str, *, begin: bool) -> EntryLog:
        if not _SHEET_ID.fullmatch(sheet_id):
            raise EventError("found no name of a sheet, expected 8 to 40 figures and small letters")
        with self._guard:
            path = self.folder / f"{sheet_id}.jsonl"
            if not path.exists():
                if not begin or self.was_finished(sheet_id):
                    raise EventError("found a sheet that is not open, expected one that was begun and not finished")
                self.folder.mkdir(exist_ok=True)
                if sum(1 for _ in self.folder.glob("*.jsonl")) >= _MOST_OPEN:
                    raise EventError(f"found {_MOST_OPEN} open sheets, expected some of them to be finished first")
            if sheet_id not in self._logs or (not path.exists() and begin):
                self._logs[sheet_id] = EntryLog(path)
            return self._logs[sheet_id]

    def _lock(self, sheet_id: str) -> threading.Lock:
        with self._guard:
            return self._of_sheet.setdefault(sheet_id, threading.Lock())
