"""Training with the watch's judgements kept: what the version in use says of new batches before they are learned.

A judgement made after training would be hindsight. Batches that no version judged before it learned them are held
against the batches before them when they are first looked at: that asks for every reading once more, and training does
not wait for it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from springfit.findings import BookError, Finding
from springfit.learning.model import SpringModel
from springfit.learning.versions.store import ModelStore
from springfit.learning.versions.training import Training, train
from springfit.records.book import Book
from springfit.records.checks.slips.setting_aside import without_doubted_rows
from springfit.records.part import batch_digests
from springfit.watching.judgements import judgements_of
from springfit.watching.kept.kept_judgements import KeptJudgements

__all__ = ["train_judged"]

Progress = Callable[[str], None]


def train_judged(
    book: Book, findings: Sequence[Finding], store: ModelStore, *, progress: Progress = lambda _: None
) -> Training:
    """Learn `book` into `store` as `train` does, batches that are new to the version in use judged by it and kept.

    Raises BookError as `train` does.
    """
    kept, sure = KeptJudgements(store.folder), without_doubted_rows(book, findings)
    digests = batch_digests(sure, [one.subject for one in findings if one.sets_aside])
    before = _of_this_book(store, digests)
    if before is not None:
        learned = {batch.batch_id for batch in before.batches}
        judgements_of(sure, findings, before, kept, of=set(digests) - learned, progress=progress)
    return train(book, findings, store, progress=progress)


def _of_this_book(store: ModelStore, digests: Mapping[str, str]) -> SpringModel | None:
    """The version in use where all that it learned stands in the book as it did; None for any other."""
    try:
        model = store.load() if store.in_use() else None
    except BookError:
        return None  # training says what is wrong with it
    if model is None or model.memory is None or not model.batches:
        return None
    stands = all(digests.get(batch) == digest for batch, digest in model.memory.digests.items())
    return model if stands else None
