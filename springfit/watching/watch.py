"""One watch of a shop: every batch judged by what was known before it, charted mandrel by mandrel, faults named.

    Book + SpringModel --known_before--> what was said of each batch --judging--> zones and faults --charts--> states
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from springfit.findings import Finding
from springfit.learning.experience import Experience, experience_of
from springfit.learning.faults.screening import of_this_steel, sound
from springfit.learning.model import SpringModel
from springfit.records.book import Book
from springfit.watching.batch_states import BatchState, batch_states
from springfit.watching.batches.known_before import KnownBefore, known_before_each, known_by
from springfit.watching.bell_states import BellState, bell_states
from springfit.watching.judged_batches import JudgedBatch, faults_in, judged_batch

__all__ = ["Watch", "watch"]

Progress = Callable[[str], None]
Facets = Mapping[tuple[str, int], Sequence[tuple[float, float]]]


@dataclass(frozen=True)
class Watch:
    """What a watch found: batches oldest first, bells in the order of the book, and `doubts` about single readings or
    sizes. `experience` is what the readings are, for pictures."""

    book_digest: str
    model_version: str
    units: str
    batches: tuple[BatchState, ...]
    bells: tuple[BellState, ...]
    doubts: tuple[Finding, ...]
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
    return Watch(
        book.digest, model.version, book.units, batches, bell_states(book, batches, made.set_aside),
        tuple(one for one in findings if one.grade == "doubt"), made,
    )  # fmt: skip


def _known(made: Experience, model: SpringModel, order: Sequence[str]) -> dict[str, KnownBefore]:
    """The version in use speaks of batches it has not learned, the batches before them of the others."""
    learned = {batch.batch_id for batch in model.batches}
    old = [batch for batch in order if batch in learned]
    believed = sound(made, [bell for bell in made.bells if bell.batch_id in learned], model.faults)
    known = dict(known_before_each(replace(believed), model, old))
    spoken = known_by(model)
    return {batch: known.get(batch, spoken) for batch in order}


def new_faults(watched: Watch) -> tuple[str, ...]:
    """Bells with a stretch that is not springback."""
    return tuple(fault.bell_id for one in watched.batches for fault in faults_in(one.judged.named))
