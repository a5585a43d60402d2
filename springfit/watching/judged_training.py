"""Training with the watch's judgements kept: what the version in use says of new batches before they are learned.

A judgement made after training would be hindsight. Batches that no version judged before it learned them are held
against the batches before them when they are first looked at: that asks for every reading once more, and training does
not wait for it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

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
    before = _in_use(store)
    if before is not None:
        _judge_new(book, findings, store, before, progress)
    return train(book, findings, store, progress=progress)


def _judge_new(
    book: Book, findings: Sequence[Finding], store: ModelStore, before: SpringModel, progress: Progress
) -> None:
    """Judge and keep what is new to the version in use, where all that it learned stands in the book as it did."""
    sure = without_doubted_rows(book, findings)
    digests = batch_digests(sure, [one.subject for one in findings if one.sets_aside])
    if before.memory is None or any(digests.get(b) != had for b, had in before.memory.digests.items()):
        return
    new = set(digests) - {batch.batch_id for batch in before.batches}
    judgements_of(sure, findings, before, KeptJudgements(store.folder), of=new, progress=progress)


def _in_use(store: ModelStore) -> SpringModel | None:
    """The version in use where it has learned from bells; None for any other."""
    try:
        model = store.load() if store.in_use() else None
    except BookError:
        return None  # training says what is wrong with it
    return model if model is not None and model.batches else None
