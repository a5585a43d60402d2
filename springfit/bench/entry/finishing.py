"""A finished sheet goes into the book whole or not at all, as `springfit add` would put it there; and comes back."""

from __future__ import annotations

import re
import secrets
import shutil
from pathlib import Path

from springfit.bench.entry.bench_sheet import BenchSheet
from springfit.bench.entry.desk import Desk
from springfit.bench.entry.sheet_rows import sheet_files
from springfit.files import write_folder
from springfit.findings import BookError, Finding
from springfit.records.editing.adding import Addition, add_sheets
from springfit.records.editing.undoing import undo_addition

__all__ = ["finish", "take_back"]

_FROM = re.compile(r"From bench-([0-9a-z]{8,40})-[0-9a-f]{8}:")  # of the note that an addition leaves in the book


def finish(book: Path, desk: Desk, sheet_id: str) -> Addition:
    """Adds the sheet to the book and puts it away. Raises BookError, nothing changed, and KeyError for no such sheet.

    Stopped after the addition and asked again, it finds every row there already and only puts the sheet away. A sheet
    that another tablet added to meanwhile stays open.
    """
    sheet = desk.sheet(sheet_id)
    _require_something(sheet)
    done = _added(book, desk, sheet)
    event = {"id": f"finish{secrets.token_hex(8)}", "what": "finished", "counted": len(sheet.ids)}
    if desk.take(sheet_id, event).finished:
        desk.put_away(sheet_id)
    return done


def take_back(book: Path, desk: Desk) -> tuple[tuple[str, ...], str | None]:
    """Takes the last addition out of the book: what was done, and the sheet that is open again by it (None where it
    was not one of ours). Raises BookError, nothing changed."""
    lines = undo_addition(book)
    found = _FROM.search(lines[0])
    if found is None or not desk.reopen(found.group(1)):
        return lines, None
    return lines, found.group(1)


def _added(book: Path, desk: Desk, sheet: BenchSheet) -> Addition:
    folder = desk.folder / f"bench-{sheet.sheet_id}-{secrets.token_hex(4)}"
    write_folder(sheet_files(sheet), folder)
    try:
        return add_sheets(book, folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _require_something(sheet: BenchSheet) -> None:
    if sheet.kind == "batch" and not sheet.bells:
        what, expected = f"batch {sheet.subject!r} has no bell yet", "at least one bell"
        raise BookError([Finding("error", "bells", None, None, what, expected, "begin a bell, then finish")])
