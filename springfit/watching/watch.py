"""One watch of a shop: every batch judged by what was known before it, charted mandrel by mandrel, faults named.

    Book + SpringModel --judgements--> each batch beside what was said before it --charts--> states, wear, slips
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from springfit.findings import Finding
from springfit.learning.model import SpringModel
from springfit.records.book import Book
from springfit.records.checks.slips.setting_aside import without_doubted_rows
from springfit.watching.batch_states import BatchState, batch_states
from springfit.watching.bell_states import BellState, bell_states
from springfit.watching.gauges.crossed_gauges import CrossedGauges, crossed_gauges
from springfit.watching.gauges.measured_gauges import (
    MeasuredGauge,
    SmallestChange,
    measured_gauges,
    smallest_changes,
)
from springfit.watching.gauges.spread_sources import ZoneSpread, spread_sources
from springfit.watching.judgements import judgements_of
from springfit.watching.kept.kept_judgements import KeptJudgements
from springfit.watching.out_of_round import with_out_of_round
from springfit.watching.slip_places import slip_findings
from springfit.watching.wear import Wear, worn_places

__all__ = ["Watch", "watch"]

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Watch:
    """What a watch found: batches oldest first, bells in the order of the book, `wear` of the steel, `doubts` about
    single readings or sizes, the `gauges`, the study of those `crossed`, the smallest change each zone shows,
    and whose `spread` it is."""

    book_digest: str
    model_version: str
    units: str
    batches: tuple[BatchState, ...]
    bells: tuple[BellState, ...]
    wear: tuple[Wear, ...]
    doubts: tuple[Finding, ...]
    gauges: tuple[MeasuredGauge, ...]
    crossed: CrossedGauges | None
    changes: tuple[SmallestChange, ...]
    spread: tuple[ZoneSpread, ...]

    @property
    def states(self) -> dict[str, str]:
        """State by batch id."""
        return {one.judged.batch_id: one.state for one in self.batches}

    def on(self, mandrel_id: str) -> tuple[BatchState, ...]:
        """The batches of one mandrel, oldest first."""
        return tuple(one for one in self.batches if one.judged.mandrel_id == mandrel_id)


def watch(
    book: Book, findings: Sequence[Finding], model: SpringModel, kept: KeptJudgements | None = None, *,
    progress: Progress = lambda _: None,
) -> Watch:  # fmt: skip
    """Judge every measured batch of `book`; `findings` are those of reading it, `model` one of this book, `kept` the
    judgements made before (None: all are made anew).

    Raises BookError for an alloy that is not known.
    """
    told = judgements_of(without_doubted_rows(book, findings), findings, model, kept, progress=progress)
    judged = with_out_of_round(book, [one.judged for one in told if one.judged is not None])
    batches = batch_states(judged)
    doubts = tuple(one for one in findings if one.grade == "doubt")
    counts = {str(batch): int(count) for batch, count in book.bells.groupby("batch_id").size().items()}
    aside = tuple(bell for one in told for bell in one.set_aside)
    gauges = measured_gauges(book, model)
    return Watch(
        book.digest, model.version, book.units, batches, bell_states(book, batches, aside),
        worn_places(judged, counts), (*doubts, *slip_findings(book, judged)),
        gauges, crossed_gauges(book), smallest_changes(judged, gauges), spread_sources(book, judged),
    )  # fmt: skip
