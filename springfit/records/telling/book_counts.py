"""What was read of a book: how much of everything, what is blank most, of what nothing is learned and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from springfit.findings import Finding
from springfit.records.blank_cells import known_walls
from springfit.records.book import Book
from springfit.records.reading_kinds import KINDS
from springfit.records.tables import CONDITIONS

__all__ = ["BookCounts", "book_counts", "empty_book"]

_MOST_BLANKS = 5  # columns named of those that are blank most; more are no longer read
_MOST_NAMES = 4  # ids listed one by one; what fits in a line
_COUNTED = ("mandrel", "revision", "batch", "bell", "reading", "target", "gauge", "original")


@dataclass(frozen=True)
class BookCounts:
    """`counts` by what is counted; `blanks`: (column, batches where it is blank), most first, of those that say how a
    batch was spun; `unlearned`: of what nothing is learned, a sentence a reason."""

    counts: dict[str, int]
    blanks: tuple[tuple[str, int], ...]
    unlearned: tuple[str, ...]

    def lines(self) -> tuple[str, ...]:
        """What was read, as a few lines for a person."""
        said = [f"read {', '.join(_some(n, one) for one, n in self.counts.items() if n or one in _COUNTED[:5])}"]
        batches = self.counts["batch"]
        if self.blanks and batches:
            told = ", ".join(f"{name} in {count} of {batches}" for name, count in self.blanks[:_MOST_BLANKS])
            more = f", and {len(self.blanks) - _MOST_BLANKS} more" if len(self.blanks) > _MOST_BLANKS else ""
            said.append(f"blank most (of the batches; a blank widens the band): {told}{more}")
        said += [f"nothing is learned from {reason}" for reason in self.unlearned]
        return tuple(said)


def book_counts(book: Book, findings: Sequence[Finding] = ()) -> BookCounts:
    """What the book holds; `findings` are those of reading it."""
    frames = (book.mandrels.drop_duplicates("mandrel_id"), book.mandrels, book.batches, book.bells,
              book.measurements, book.targets, book.gauges, book.specimens)  # fmt: skip
    counts = {one: len(frame) for one, frame in zip(_COUNTED, frames, strict=True)}
    how = [column for column in CONDITIONS.columns if column.name != "name"]
    blank = {column.name: int(book.batches[column.frame_name].isna().sum()) for column in how}
    most = sorted(((name, n) for name, n in blank.items() if n), key=lambda pair: -pair[1])
    return BookCounts(counts, tuple(most), tuple(_unlearned(book, findings)))


def empty_book(book: Book) -> list[Finding]:
    """An error for a book without a single record: nothing in it could be right or wrong."""
    if any(len(frame) for frame in (book.mandrels, book.batches, book.bells, book.measurements, book.specimens)):
        return []
    what = "the book is empty: its tables hold no row below their headers"
    remedy = "fill a copy of its form.xlsx and add it with springfit add"
    return [Finding("error", book.folder, None, None, what, "a mandrel, a batch, bells and readings", remedy)]


def _unlearned(book: Book, findings: Sequence[Finding]) -> list[str]:
    """Reasons, each with how much it concerns and the first few names."""
    read = book.measurements
    placed = set(read["bell_id"][read["kind"].map({name: kind.of_place for name, kind in KINDS.items()}).astype(bool)])
    measured = set(read["bell_id"])
    bells, batches = book.bells["bell_id"], book.batches["batch_id"]
    aside = sorted({f.subject for f in findings if f.sets_aside} & measured)
    one_by_one = sum(f.sets_row_aside for f in findings)
    spun_on = set(book.batches["mandrel_id"])
    told = [
        _said("bell", aside, "set aside by a doubt until it is corrected"),
        f"{_some(one_by_one, 'reading or size', 'readings or sizes')} set aside alone, each by a doubt"
        if one_by_one else "",
        _said("batch", [b for b in batches if b not in set(book.bells["batch_id"])], "no bell of it is in the book"),
        _said("bell", [b for b in bells if b not in measured], "not measured"),
        _said("bell", [b for b in bells if b in measured - placed], "only its wall was measured"),
        _said("bell", _without_wall(book), "no wall of theirs is written down or read", "the outside of "),
        _said("mandrel", [m for m in pd.unique(book.mandrels["mandrel_id"]) if m not in spun_on], "no batch on it"),
    ]  # fmt: skip
    return [reason for reason in told if reason]


def _without_wall(book: Book) -> list[str]:
    """Bells of which a reading through the wall cannot be told from the wall."""
    bells = book.bells.merge(book.batches[["batch_id", "wall_mm"]], on="batch_id", suffixes=("", "_of_batch"))
    rows = book.measurements.merge(bells, on="bell_id", suffixes=("", "_of_bell"))
    outside = rows["kind"].isin([kind.name for kind in KINDS.values() if kind.of_place and kind.through_wall])
    return list(pd.unique(rows["bell_id"][outside & known_walls(rows).isna()]))


def _said(noun: str, names: Sequence[str], why: str, begin: str = "") -> str:
    if not names:
        return ""
    listed = ", ".join(names[:_MOST_NAMES]) + (", ..." if len(names) > _MOST_NAMES else "")
    return f"{begin}{_some(len(names), noun)} ({listed}): {why}"


def _some(count: int, noun: str, several: str = "") -> str:
    """A count with its noun."""
    return f"{count} {noun}" if count == 1 else f"{count} {several or ('batches' if noun == 'batch' else noun + 's')}"
