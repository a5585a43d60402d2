"""A batch, bell, mandrel, target or the whole shop as the book has it, in a screenful."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from springfit.findings import BookError, Finding
from springfit.lengths import from_mm
from springfit.records.blank_cells import is_blank
from springfit.records.book import Book
from springfit.records.columns import Column
from springfit.records.tables import TABLES
from springfit.records.telling.book_counts import book_counts

__all__ = ["SCREENFUL", "shown"]

SCREENFUL = 40  # lines; of a terminal, its prompt left out
_MOST_DOUBTS = 5  # a screenful holds no more
_READ_IN_ONE_WAY = ["stage", "kind", "datum", "gauge_id"]


@dataclass(frozen=True)
class _Shown:
    """What is asked about, and in which unit lengths are told."""

    book: Book
    findings: Sequence[Finding]
    units: str

    def length(self, mm: float) -> str:
        """A length with its unit; `?` where it is not known."""
        return "?" if is_blank(float(mm)) else f"{from_mm(float(mm), self.units):.5g} {self.units}"

    def facts(self, table: str, row: Any, *, leave_out: Sequence[str] = ()) -> list[str]:
        """The filled cells of a row, each after its column's name; then which are blank."""
        columns = [column for column in TABLES[table].columns if column.name not in leave_out]
        known = [f"{c.name} {self._cell(c, row[c.frame_name])}" for c in columns if not is_blank(row[c.frame_name])]
        blank = [c.name for c in columns if is_blank(row[c.frame_name])]
        return [*_wrapped(known), *(_wrapped(blank, "not known: ") if blank else [])]

    def doubts(self, *subjects: str) -> list[str]:
        """What the book's check finds odd about these."""
        said = [f"{f.grade}: {f.line()}" for f in self.findings if f.subject in subjects and f.grade != "note"]
        return said[:_MOST_DOUBTS]

    def _cell(self, column: Column, value: Any) -> str:
        if column.kind == "length":
            return self.length(value)
        if column.kind == "date":
            return str(pd.Timestamp(value).date())
        return f"{value:g}" if column.numeric else str(value)


def shown(book: Book, findings: Sequence[Finding], name: str | None, *, units: str) -> tuple[str, ...]:
    """Lines about the batch, bell, mandrel or target `name`, or about the shop; lengths in `units`.

    A name that several tables have is told of in each. Raises BookError for a name that none has.
    """
    what = _Shown(book, findings, units)
    if name is None:
        return _screenful(_shop(what))
    tellers: dict[str, Callable[[_Shown, str], list[str]]] = {
        "batches": _batch, "bells": _bell, "mandrels": _mandrel, "targets": _target,
    }  # fmt: skip
    lines: list[str] = []
    known: list[str] = []
    for table, tell in tellers.items():
        ids = getattr(book, table)[TABLES[table].key[0]].astype(str).tolist()
        known += ids
        if name in ids:
            lines += tell(what, name)
    if not lines:
        spelt = {one.casefold(): one for one in known}
        close = [spelt[one] for one in difflib.get_close_matches(name.casefold(), list(spelt), 3)]
        remedy = f"is it {' or '.join(close)}?" if close else "springfit show BOOK lists them"
        expected = "the name of a batch, bell, mandrel or target"
        raise BookError([Finding("error", book.folder, None, None, f"the book has no {name!r}", expected, remedy)])
    return _screenful(lines)


def _screenful(lines: list[str]) -> tuple[str, ...]:
    return tuple(lines if len(lines) <= SCREENFUL else [*lines[: SCREENFUL - 1], f"... and {len(lines)} lines in all"])


def _shop(what: _Shown) -> list[str]:
    book = what.book
    lines = list(book_counts(book, what.findings).lines())
    newest = book.batches.sort_values("spun_on", kind="stable")
    for mandrel, rows in book.mandrels.groupby("mandrel_id", sort=False):
        on = newest[newest["mandrel_id"] == mandrel]
        last = f", last {on['batch_id'].iloc[-1]} on {on['spun_on'].iloc[-1].date()}" if len(on) else ""
        lines.append(f"mandrel {mandrel}: revision {int(rows['revision'].max())}, {len(on)} batches{last}")
    for target, mandrel in zip(book.targets["target_id"], book.targets["mandrel_id"], strict=True):
        lines.append(f"target {target}: for mandrel {'?' if is_blank(mandrel) else mandrel}")
    doubts = [f for f in what.findings if f.grade == "doubt"]
    return [*lines, f"{len(doubts)} doubts" + (": springfit check BOOK lists them" if doubts else "")]


def _batch(what: _Shown, name: str) -> list[str]:
    book = what.book
    row = book.batches[book.batches["batch_id"] == name].iloc[0]
    bells = book.bells[book.bells["batch_id"] == name]
    lines = [f"batch {name}", *what.facts("batches", row, leave_out=["batch_id"]), f"{len(bells)} bells:"]
    for _, bell in bells.iterrows():
        read = book.measurements[book.measurements["bell_id"] == bell["bell_id"]]
        said = "" if is_blank(bell["verdict"]) else f", {bell['verdict']}"
        kinds = ", ".join(f"{count} {kind}" for kind, count in read["kind"].value_counts().items())
        lines.append(f"  {bell['bell_id']}: wall {what.length(bell['wall_mm'])}{said}; {kinds or 'not measured'}")
    return lines + what.doubts(name, *bells["bell_id"])


def _bell(what: _Shown, name: str) -> list[str]:
    book = what.book
    row = book.bells[book.bells["bell_id"] == name].iloc[0]
    lines = [f"bell {name}", *what.facts("bells", row, leave_out=["bell_id"])]
    read = book.measurements[book.measurements["bell_id"] == name]
    for (stage, kind, datum, gauge), rows in read.groupby(_READ_IN_ONE_WAY, sort=False, dropna=False):
        lines.append(f"{stage}, {kind} from {datum}, gauge {gauge}: {len(rows)} readings, z: value in {what.units}")
        pairs = zip(rows["z_mm"], rows["value_mm"], strict=True)
        lines += _wrapped([f"{from_mm(z, what.units):.5g}: {from_mm(v, what.units):.5g}" for z, v in pairs], "  ")
    return lines + what.doubts(name)


def _mandrel(what: _Shown, name: str) -> list[str]:
    book = what.book
    lines = [f"mandrel {name}"]
    for _, row in book.mandrels[book.mandrels["mandrel_id"] == name].iterrows():
        z, diameter = book.profile(name, int(row["revision"]))
        on = book.batches[(book.batches["mandrel_id"] == name) & (book.batches["revision"] == row["revision"])]
        lines += what.facts("mandrels", row, leave_out=["mandrel_id"])
        lines.append(
            f"  {len(z)} stations, z {what.length(z[0])} to {what.length(z[-1])}, "
            f"diameter {what.length(diameter[0])} to {what.length(diameter[-1])}"
        )
        lines += _wrapped(list(on["batch_id"]), "  batches: ") if len(on) else ["  no batch on it"]
    of = book.targets[book.targets["mandrel_id"] == name]["target_id"]
    return lines + [f"target {target}" for target in of] + what.doubts(name)


def _target(what: _Shown, name: str) -> list[str]:
    row = what.book.targets[what.book.targets["target_id"] == name].iloc[0]
    z, diameter = what.book.target_profile_of(name)
    lines = [f"target {name}", *what.facts("targets", row, leave_out=["target_id"]), f"{len(z)} stations, z: diameter"]
    pairs = zip(z, diameter, strict=True)
    lines += _wrapped([f"{from_mm(a, what.units):.5g}: {from_mm(b, what.units):.5g}" for a, b in pairs], "  ")
    return lines + what.doubts(name)


def _wrapped(parts: Sequence[str], begin: str = "", width: int = 100) -> list[str]:
    """Parts with commas between, in as few lines as there is room for."""
    lines, line = [], begin
    for number, part in enumerate(parts):
        piece = part + (", " if number < len(parts) - 1 else "")
        if len(line) + len(piece) > width and line.strip():
            lines.append(line.rstrip())
            line = " " * min(len(begin), 4)
        line += piece
    return [*lines, line.rstrip()] if line.strip() else lines
