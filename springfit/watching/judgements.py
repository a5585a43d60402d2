"""The judgement of every measured batch: those kept as they were made, the others made now and kept.

A batch that the version in use has not learned is judged by what that version says of it: only its own steel and
readings are looked at. One that was learned before it was ever judged is held against what the batches before it
taught, which asks for all of their readings.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence

from springfit.findings import Finding
from springfit.geometry.facets.finder import Facet
from springfit.learning.experience import Experience, experience_of
from springfit.learning.faults.screening import of_this_steel, sound
from springfit.learning.model import SpringModel
from springfit.learning.set_aside import SetAside
from springfit.records.book import Book
from springfit.records.part import batch_digests, part_of
from springfit.watching.batches.known_before import KnownBefore, known_before_each, known_by
from springfit.watching.batches.steel_line import facets_of_steel
from springfit.watching.judged_batches import JudgedBatch, judged_batch
from springfit.watching.kept.judgement_text import Judgement
from springfit.watching.kept.kept_judgements import KeptJudgements, judgement_keys

__all__ = ["judgements_kept", "judgements_of"]

Progress = Callable[[str], None]
FacetsBySteel = Mapping[tuple[str, int], tuple[Facet, ...]]


def judgements_of(
    book: Book, findings: Sequence[Finding], model: SpringModel, kept: KeptJudgements | None, *,
    of: Collection[str] | None = None, progress: Progress = lambda _: None,
) -> tuple[Judgement, ...]:  # fmt: skip
    """Every measured batch of `book` (or those `of` them), oldest first. kept: None makes them anew and keeps none.

    `book` is without the rows that findings set aside. Raises BookError for an alloy that is not known.
    """
    order, keys = _keyed(book, findings)
    order = [batch for batch in order if of is None or batch in of]
    found: dict[str, Judgement] = {}
    for batch in order if kept else ():
        had = kept.read(keys[batch]) if kept else None
        if had is not None:
            found[batch] = had
    lacking = [batch for batch in order if batch not in found]
    known = [one.judged for one in found.values() if one.judged]
    facets = {(one.mandrel_id, one.revision): one.steel.facets for one in known}
    made = _made(book, findings, model, lacking, facets, progress) if lacking else {}
    if kept:
        kept.write({keys[batch]: judgement for batch, judgement in made.items()})
    return tuple({**found, **made}[batch] for batch in order)


def judgements_kept(book: Book, findings: Sequence[Finding], kept: KeptJudgements) -> tuple[Judgement, ...]:
    """Those of the measured batches of `book` that were judged before, oldest first; none is made for it."""
    order, keys = _keyed(book, findings)
    had = (kept.read(keys[batch]) for batch in order)
    return tuple(one for one in had if one is not None)


def _keyed(book: Book, findings: Sequence[Finding]) -> tuple[list[str], dict[str, str]]:
    """The measured batches, oldest first, and the key that the judgement of each is kept under."""
    digests = batch_digests(book, [one.subject for one in findings if one.sets_aside])
    day = {str(b): str(d)[:10] for b, d in zip(book.batches["batch_id"], book.batches["spun_on"], strict=True)}
    order = sorted(digests, key=lambda batch: (day[batch], batch))
    return order, judgement_keys(digests, order)


def _made(
    book: Book, findings: Sequence[Finding], model: SpringModel, lacking: Sequence[str], had: FacetsBySteel,
    progress: Progress,
) -> dict[str, Judgement]:  # fmt: skip
    """Judgements of the batches `lacking` them; `had` the facets of steel that was searched before."""
    learned = {batch.batch_id for batch in model.batches}
    old = [batch for batch in lacking if batch in learned]
    progress("reading steel and bells")
    looked_at = {*learned, *lacking} if old else set(lacking)
    read = experience_of(
        part_of(book, looked_at), findings, hand=model.hand, known=model.layout.columns, progress=progress
    )
    made = of_this_steel(read)
    known = {batch: known_by(model) for batch in lacking if batch not in learned}
    if old:
        progress("what was known before each batch")
        known.update(_known_of_learned(made, model, old))
    told, facets = {}, dict(had)
    for batch in lacking:
        steel = made.facts[batch].mandrel_id, made.revision[batch]
        if steel not in facets:
            facets[steel] = facets_of_steel(made.steel[steel], *book.profile(*steel))
        told[batch] = Judgement(_judged(made, batch, known, model, facets[steel]), _aside(made, batch))
    return told


def _known_of_learned(made: Experience, model: SpringModel, old: Collection[str]) -> Mapping[str, KnownBefore]:
    """What the batches before each of the `old` ones taught."""
    learned = {batch.batch_id for batch in model.batches}
    order = sorted({bell.batch_id for bell in made.bells} & learned, key=lambda batch: (made.spun_on[batch], batch))
    believed = sound(made, [bell for bell in made.bells if bell.batch_id in learned], model.faults)
    last = max((place for place, batch in enumerate(order) if batch in old), default=-1)
    return known_before_each(believed, model, order[: last + 1])


def _judged(
    made: Experience, batch: str, known: Mapping[str, KnownBefore], model: SpringModel, facets: tuple[Facet, ...]
) -> JudgedBatch | None:
    bells = [bell for bell in made.bells if bell.batch_id == batch]
    return judged_batch(made, bells, known[batch], model, facets) if bells else None


def _aside(made: Experience, batch: str) -> tuple[SetAside, ...]:
    return tuple(one for one in made.set_aside if one.batch_id == batch)
