"""The state of each bell: its own fault, else its batch's, else what the record says against it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from springfit.learning.set_aside import SetAside, WhySetAside
from springfit.records.book import Book
from springfit.watching.batch_states import BatchState, worst
from springfit.watching.signatures.naming import Named

__all__ = ["BellState", "bell_states"]


@dataclass(frozen=True)
class BellState:
    """A measured bell: `state` usual, watch or stop (its batch's zones' where no fault is
    named); the fault `named` in it or in all its batch, with the most
    evidence; `doubt` why the record of it is not believed (then nothing is said of its spinning), else None."""

    bell_id: str
    batch_id: str
    state: str
    named: Named | None
    doubt: WhySetAside | None = None


def bell_states(book: Book, batches: Sequence[BatchState], set_aside: Sequence[SetAside]) -> tuple[BellState, ...]:
    """A state for every bell of `book` that was measured, in the order of its table."""
    judged = {bell: one for one in batches for bell in one.judged.bells}
    doubted = {one.bell_id: one.why for one in set_aside}
    measured = set(book.measurements["bell_id"])
    rows = zip(book.bells["bell_id"].astype(str), book.bells["batch_id"].astype(str), strict=True)
    found = []
    for bell, batch in rows:
        if bell not in measured:
            continue
        if bell in judged:
            found.append(_of(bell, judged[bell]))
        elif bell in doubted:
            found.append(BellState(bell, batch, "watch", None, doubted[bell]))
    return tuple(found)


def _of(bell: str, batch: BatchState) -> BellState:
    one = batch.judged
    own = [named for named in one.named if named.bell_id == bell]
    common = [named for named in one.named if not named.bell_id]
    spun = [named for named in own if not named.of_measuring] or own
    named = max(spun or common, key=lambda fault: fault.margin, default=None)
    if named is None:
        return BellState(bell, one.batch_id, worst([zone.state for zone in batch.zones]), None)
    return BellState(bell, one.batch_id, "watch" if named.of_measuring else "stop", named)
