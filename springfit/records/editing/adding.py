"""A batch's sheets merged into a book: the whole is checked first, then all of it is written or nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from springfit.findings import BookError, Finding
from springfit.records.accepted import replaced_noted
from springfit.records.day_setting import kept_day_order
from springfit.records.digest import canonical_rows
from springfit.records.editing.fill_from_batch import filled_from_batch
from springfit.records.editing.kept_book import KeptBook, kept_book
from springfit.records.editing.locking import not_written
from springfit.records.editing.replacing import CellChange, replaced_rows
from springfit.records.reading import assemble, joined
from springfit.records.rules.revisions import fill_revisions
from springfit.records.sheets.days import DayOrder
from springfit.records.sheets.parsing import Parsed, parse_sheet
from springfit.records.sheets.sources import TableSheets, read_sheets
from springfit.records.tables import TABLES

__all__ = ["Addition", "add_sheets"]

_PLACE = ("bell_id", "stage", "kind", "datum", "z_mm", "angle_deg", "gauge_id")


@dataclass(frozen=True)
class Addition:
    """What an addition did or would do: rows `added` and `unchanged` by table, `files`, `findings`."""

    book: str
    added: dict[str, int]
    unchanged: dict[str, int]
    files: tuple[str, ...]
    findings: tuple[Finding, ...]
    dry_run: bool = False
    replaced: tuple[CellChange, ...] = ()

    def lines(self) -> tuple[str, ...]:
        """The addition as short lines for a terminal."""
        add, write = ("would add", "would write") if self.dry_run else ("added", "wrote")
        said = [f"{add} {count} rows to {name}" for name, count in self.added.items()]
        said += [f"{count} rows of {name} are in the book already" for name, count in self.unchanged.items()]
        instead = "would replace" if self.dry_run else "replaced"
        said += [f"{instead} {c.old!r} by {c.new!r} at {c.file}:{c.row}:{c.header}" for c in self.replaced]
        said += [f"{write} {file}" for file in self.files]
        return tuple(said) or ("there was nothing to add",)


def add_sheets(
    book: str | Path,
    sheets: str | Path,
    *,
    dry_run: bool = False,
    like: str | None = None,
    decimal_comma: bool = False,
    replace_old: bool = False,
    reason: str = "",
) -> Addition:
    """Merges sheets (a folder or workbook) into the book, a folder or a workbook too, all or nothing.

    `like`: blank cells of new batches are filled from that batch. `decimal_comma` speaks of the sheets only; the book
    is written with points. Rows that are in the book already are left out; the same key, or the same place of a bell,
    with other contents is an error; with `replace_old` the sheets' values take the place of the book's, and the old
    ones are kept in its journal with the day and the `reason`. Another addition to the book is waited for. Raises
    BookError, with nothing written, when the book with the sheets in it is at fault or cannot be written.
    """
    kept, source = kept_book(Path(book)), Path(sheets)
    how = _How(like, decimal_comma, dry_run, replace_old, reason)
    if dry_run:
        return _add(kept, source, how)
    with kept.held():
        return _add(kept, source, how)


@dataclass(frozen=True)
class _How:
    """How sheets are to be added."""

    like: str | None
    decimal_comma: bool
    dry_run: bool
    replace_old: bool
    reason: str


def _add(kept: KeptBook, source: Path, how: _How) -> Addition:
    days = kept_day_order(kept.path)
    old, found = read_sheets(kept.path, days=days)
    if not old:
        remedy = "start one with springfit new"
        raise BookError(
            [Finding("error", str(kept.path), None, None, "this is not a record book", "its tables", remedy)]
        )
    new, said = _typed(source, how, days)
    found += said
    if how.like is not None:
        new = filled_from_batch(new, old, how.like, found)
    changes: tuple[CellChange, ...] = ()
    book = old
    if how.replace_old:
        done = replaced_rows(old, new)
        new, changes = done.fresh, done.changes
        found += done.findings
        book = kept.sheets_with(_merged(kept, [], changes, old))
    fresh, unchanged = _without_known(book, new)
    found += _other_values(book, fresh)
    checked, findings = assemble([*book, *fresh], found, folder=str(kept.path))
    filled = [(table, sheet) for table, sheet in fresh if len(sheet)]
    added = Counter({table: 0 for table, _ in filled})
    for table, sheet in filled:
        added[table] += len(sheet)
    files = _merged(kept, filled, changes, old)
    if files and not how.dry_run:
        # What is about to be written must read back as the book that was checked.
        if joined(kept.sheets_with(files), folder=str(kept.path))[0].digest != checked.digest:
            raise not_written(kept.path, "the book was changed meanwhile", "add again")
        rows = ", ".join(f"{n} rows of {table}" for table, n in added.items()) or f"{len(changes)} cells replaced"
        log = _noted(kept.path, changes, how.reason or f"corrected sheet {source.name}")
        kept.change(files, log=log, note=f"From {source.name}: {rows}, in {', '.join(files)}.\n")
    return Addition(str(kept.path), dict(added), unchanged, tuple(files), findings, how.dry_run, changes)


def _typed(source: Path, how: _How, days: DayOrder) -> tuple[TableSheets, list[Finding]]:
    """The sheets that are to be added, each called by its folder too."""
    typed, said = read_sheets(source, decimal_comma=how.decimal_comma, days=days)
    if not typed and not said:
        what, expected = "there is no sheet of a record book here", "files or sheets named as the tables are"
        raise BookError([Finding("error", str(source), None, None, what, expected)])
    prefix = "" if source.is_file() else f"{source.name}/"
    return [(table, replace(sheet, file=f"{prefix}{sheet.file}")) for table, sheet in typed], said


def _noted(book: Path, changes: tuple[CellChange, ...], reason: str) -> dict[str, bytes]:
    """The book's journal with what was replaced; nothing where nothing was."""
    told = [(c.subject, f"{c.file}:{c.row}:{c.header}", c.said()) for c in changes]
    return replaced_noted(book, told, reason) if told else {}


def _merged(
    kept: KeptBook, rows: TableSheets, changes: tuple[CellChange, ...], old: TableSheets
) -> dict[str, bytes]:
    """What is to be written; BookError where it cannot be written as the book's files are."""
    try:
        return kept.merged(rows, changes, old=old)
    except ValueError as failed:
        what = f"the new values cannot be written into the book's files ({failed})"
        remedy = "save them as CSV UTF-8, or the workbook again as .xlsx"
        expected = "text in UTF-8, or an .xlsx workbook"
        raise BookError([Finding("error", str(kept.path), None, None, what, expected, remedy)]) from None


def _without_known(old: TableSheets, new: TableSheets) -> tuple[TableSheets, dict[str, int]]:
    """The new sheets without the rows that the book has already, and how many those were."""
    parsed_old = [parse_sheet(sheet, TABLES[table]) for table, sheet in old]
    parsed_new = [parse_sheet(sheet, TABLES[table]) for table, sheet in new]
    _fill_revisions([*parsed_old, *parsed_new])
    known: dict[str, Counter[str]] = {table: Counter() for table in TABLES}
    for parsed in parsed_old:
        known[parsed.table.name].update(canonical_rows(parsed.frame, parsed.table))
    fresh: TableSheets = []
    unchanged: dict[str, int] = {}
    for parsed in parsed_new:
        table = parsed.table.name
        at_fault = {row for row, _ in parsed.unread}  # kept, so that the fault is reported
        keep = np.ones(len(parsed.sheet), dtype=bool)
        for row, text in enumerate(canonical_rows(parsed.frame, parsed.table)):
            if known[table][text] and row not in at_fault:
                known[table][text] -= 1
                keep[row] = False
        if not keep.all():
            unchanged[table] = unchanged.get(table, 0) + int((~keep).sum())
        fresh.append((table, parsed.sheet.rows_where(keep)))
    return fresh, unchanged


def _fill_revisions(parts: list[Parsed]) -> None:
    """A batch with its revision left blank says the same as one that names the revision of its day."""
    mandrels = [part.frame for part in parts if part.table.name == "mandrels"]
    for part in parts:
        if mandrels and part.table.name == "batches":
            fill_revisions({"mandrels": pd.concat(mandrels, ignore_index=True), "batches": part.frame}, {})


def _other_values(old: TableSheets, fresh: TableSheets) -> list[Finding]:
    """Errors where the book has a reading at the same place, with the same gauge, of another value."""
    known = {place: where for place, where, _ in _places(old)}
    return [
        Finding(
            "error",
            *where,
            header,
            f"bell {place[0]!r} has another value at this place, in {known[place][0]}:{known[place][1]}",
            "a new reading",
            "if the book is wrong add the sheet with --replace, else take the row out",
        )
        for place, where, header in _places(fresh)
        if place in known
    ]


def _places(sheets: TableSheets) -> Iterator[tuple[tuple, tuple[str, int], str | None]]:
    """Place (blanks and all), (file, line) and value's header of every reading in the sheets."""
    for sheet in (sheet for table, sheet in sheets if table == "measurements" and len(sheet)):
        parsed = parse_sheet(sheet, TABLES["measurements"])
        columns = [parsed.frame[name].round(6).fillna(-1e9) if parsed.frame[name].dtype == float
                   else parsed.frame[name] for name in _PLACE]  # fmt: skip
        header = parsed.headers.get("value_mm")
        rows = zip(*(column.tolist() for column in columns), strict=True)
        for place, line in zip(rows, sheet.rows.tolist(), strict=True):
            yield place, (sheet.file, line), header
