"""The shop at a glance: a row a mandrel, with what it has made, what was last decided of it and what comes next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import pandas as pd

from springfit.records.book import Book

__all__ = ["LastVerdict", "MandrelRow", "shop_at_a_glance"]

STOP, UNJUDGED = "stop", ""


@dataclass(frozen=True)
class LastVerdict:
    """What a stored report said of a mandrel: `verdict` (leave, slide, process, wait, recut, new_flare) of a target on
    `revision`, when it was `written` (ISO), the largest cut [mm per side, nan without one], and the `batches` it
    saw."""

    mandrel_id: str
    revision: int
    target_id: str
    verdict: str
    written: str
    largest_cut_mm: float = float("nan")
    more_batches: int | None = None
    batches: tuple[str, ...] = ()


@dataclass(frozen=True)
class MandrelRow:
    """A mandrel as it stands. `revision` in force last, since `revised_on`; `batches` and measured `bells` on it, on
    this revision and on all; `newest_batch` with its day and `state` (usual, watch, stop, or empty where not judged).

    `done` about `verdict`: none (no verdict), due (steel is to be changed and was not), changed (a later revision is in
    the book), nothing (none was called for). `next_step`: measure, find_cause, cut, spin_more, judge, carry_on.
    """

    mandrel_id: str
    revision: int
    revised_on: str
    bells: int
    batches: int
    all_bells: int
    all_batches: int
    newest_batch: str
    newest_on: str
    state: str
    verdict: LastVerdict | None
    done: str
    next_step: str


def shop_at_a_glance(
    book: Book, states: Mapping[str, str], reports: Sequence[LastVerdict] = ()
) -> tuple[MandrelRow, ...]:
    """A row a mandrel of `book`, in the order of its table. `states` by batch id; `reports` that are stored, any order;
    the newest of each mandrel counts."""
    last: dict[str, LastVerdict] = {}
    for one in sorted(reports, key=lambda report: report.written):
        last[one.mandrel_id] = one
    names = dict.fromkeys(book.mandrels["mandrel_id"].astype(str))
    measured = _measured(book)
    return tuple(_row(book, name, measured, states, last.get(name)) for name in names)


def _row(
    book: Book, name: str, measured: pd.Series, states: Mapping[str, str], verdict: LastVerdict | None
) -> MandrelRow:
    revisions = book.mandrels[book.mandrels["mandrel_id"] == name].sort_values("revision")
    revision, revised_on = int(revisions["revision"].iloc[-1]), str(revisions["in_force_from"].iloc[-1])[:10]
    spun = book.batches[book.batches["mandrel_id"] == name].sort_values("spun_on", kind="stable")
    here = spun[spun["revision"] == revision]
    newest = str(spun["batch_id"].iloc[-1]) if len(spun) else ""
    row = MandrelRow(
        mandrel_id=name, revision=revision, revised_on=revised_on,
        bells=_count(measured, here), batches=len(here), all_bells=_count(measured, spun), all_batches=len(spun),
        newest_batch=newest, newest_on=str(spun["spun_on"].iloc[-1])[:10] if len(spun) else "",
        state=states.get(newest, UNJUDGED), verdict=verdict, done=_done(verdict, revision), next_step="",
    )  # fmt: skip
    return replace(row, next_step=_next(row))


def _measured(book: Book) -> pd.Series:
    """Count of bells that have a reading, by batch."""
    read = book.bells["bell_id"].isin(book.measurements["bell_id"].unique())
    return read.groupby(book.bells["batch_id"]).sum()


def _count(measured: pd.Series, batches: pd.DataFrame) -> int:
    """How many bells of these batches were measured."""
    return int(measured.reindex(batches["batch_id"]).fillna(0).sum())


def _done(verdict: LastVerdict | None, revision: int) -> str:
    if verdict is None:
        return "none"
    if revision > verdict.revision:
        return "changed"
    return "due" if verdict.verdict in ("recut", "new_flare", "slide") else "nothing"


def _next(row: MandrelRow) -> str:
    """The one step that comes next: a batch that is not normal before steel, steel before more bells."""
    if not row.bells:
        return "measure"  # of this revision nothing is known yet
    if row.state == STOP:
        return "find_cause"
    verdict = row.verdict
    if verdict is None or row.done == "changed" or (verdict.batches and row.newest_batch not in verdict.batches):
        return "judge"
    if row.done == "due":
        return "cut"
    if verdict.verdict == "process":
        return "find_cause"
    return "spin_more" if verdict.verdict == "wait" else "carry_on"
