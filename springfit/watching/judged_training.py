"""Training with the watch's judgements kept: what the version in use says of new batches before they are learned.

A judgement made after training would be hindsight. So that a page is there at once after it, the batches that no
version judged before it learned them are held against the batches before them here too, once.
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
    """Learn `book` into `store` as `train` does, every measured batch judged and its judgement kept beside it.

    Raises BookError as `train` does.
    """
    kept, sure = KeptJudgements(store.folder), without_doubted_rows(book, findings)
    digests = batch_digests(sure, [one.subject for one in findings if one.sets_aside])
    before = _of_this_book(store, digests)
    if before is not None:
        judgements_of(sure, findings, before, kept, progress=progress)
    done = train(book, findings, store, progress=progress)
    judgements_of(sure, findings, store.load(), kept, progress=progress)
    return done


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
