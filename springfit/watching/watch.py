"""One watch of a shop: every batch judged by what was known before it, charted mandrel by mandrel, faults named.

    Book + SpringModel --known_before--> what was said of each batch --judging--> zones and faults --charts--> states
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from springfit.findings import Finding
from springfit.learning.experience import Experience, experience_of
from springfit.learning.faults.screening import of_this_steel, sound
from springfit.learning.model import SpringModel
from springfit.records.book import Book
from springfit.watching.batch_states import BatchState, batch_states
from springfit.watching.batches.known_before import KnownBefore, known_before_each, known_by
from springfit.watching.bell_states import BellState, bell_states
from springfit.watching.gauges.measured_gauges import (
    MeasuredGauge,
    SmallestChange,
    measured_gauges,
    smallest_changes,
)
from springfit.watching.judged_batches import JudgedBatch, judged_batch
from springfit.watching.slip_places import slip_findings
from springfit.watching.wear import Wear, worn_places

__all__ = ["Watch", "watch"]

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Watch:
    """What a watch found: batches oldest first, bells in the order of the book, `wear` of the steel, `doubts` about
    single readings or sizes, the `gauges` and the smallest change each zone shows. `experience` is what the readings
    are."""

    book_digest: str
    model_version: str
    units: str
    batches: tuple[BatchState, ...]
    bells: tuple[BellState, ...]
    wear: tuple[Wear, ...]
    doubts: tuple[Finding, ...]
    gauges: tuple[MeasuredGauge, ...]
    changes: tuple[SmallestChange, ...]
    experience: Experience

    @property
    def states(self) -> dict[str, str]:
        """State by batch id."""
        return {one.judged.batch_id: one.state for one in self.batches}

    def on(self, mandrel_id: str) -> tuple[BatchState, ...]:
        """The batches of one mandrel, oldest first."""
        return tuple(one for one in self.batches if one.judged.mandrel_id == mandrel_id)


def watch(
    book: Book, findings: Sequence[Finding], model: SpringModel, *, progress: Progress = lambda _: None
) -> Watch:
    """Judge every measured batch of `book`; `findings` are those of reading it, `model` one of this book.

    Raises BookError for an alloy that is not known.
    """
    progress("reading steel and bells")
    made = of_this_steel(experience_of(book, findings, known=model.layout.columns, progress=progress))
    order = sorted({bell.batch_id for bell in made.bells}, key=lambda batch: (made.spun_on[batch], batch))
    progress("what was known before each batch")
    known = _known(made, model, order)
    judged: list[JudgedBatch] = []
    for batch in order:
        bells = [bell for bell in made.bells if bell.batch_id == batch]
        judged.append(judged_batch(made, bells, known[batch], model, ()))
    batches = batch_states(judged)
    doubts = tuple(one for one in findings if one.grade == "doubt")
    counts = {str(batch): int(count) for batch, count in book.bells.groupby("batch_id").size().items()}
    return Watch(
        book.digest, model.version, book.units, batches, bell_states(book, batches, made.set_aside),
        worn_places(judged, counts, {}), (*doubts, *slip_findings(book, made, judged)),
        measured_gauges(book, model), smallest_changes(judged), made,
    )  # fmt: skip


def _known(made: Experience, model: SpringModel, order: Sequence[str]) -> dict[str, KnownBefore]:
    """The version in use speaks of batches it has not learned, the batches before them of the others."""
    learned = {batch.batch_id for batch in model.batches}
    old = [batch for batch in order if batch in learned]
    believed = sound(made, [bell for bell in made.bells if bell.batch_id in learned], model.faults)
    known = dict(known_before_each(believed, model, old))
    spoken = known_by(model)
    return {batch: known.get(batch, spoken) for batch in order}
