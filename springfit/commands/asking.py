"""What a command asks with: the model of this very book, learned first where that was asked for, and the report before.

A model of another book is refused. One that has not learned all of the book answers, but orders no cut.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from springfit.decisions.cut_tables.as_cut import Ordered
from springfit.decisions.forecast import Forecast
from springfit.decisions.unlearned import (
    ALL_LEARNED,
    Unlearned,
    learned_by,
    mandrel_of,
    measured_batches,
    unlearned,
)
from springfit.findings import BookError, Finding
from springfit.learning.coverage import CoverageNote
from springfit.learning.model import SpringModel
from springfit.learning.versions.store import ModelStore
from springfit.mechanics.metal.alloys import unknown_alloys
from springfit.records.book import Book
from springfit.records.reading import read_book
from springfit.reporting.stored_reports import order_for

__all__ = ["asked_model", "check_alloys", "model_of_book", "naming", "order_before"]


def asked_model(options: argparse.Namespace, progress: Callable[[str], None]) -> tuple[SpringModel, Unlearned]:
    """The model that `predict` asks, and what it has not learned of the book named with --book, if one is."""
    if not options.book:
        if options.train:
            what = "--train was given without --book"
            raise BookError([Finding("error", "--train", None, None, what, "--book and the record book to learn")])
        return ModelStore(Path(options.store)).load(options.version), ALL_LEARNED
    book, findings = read_book(options.book, decimal_comma=options.decimal_comma)
    return model_of_book(book, findings, options, progress, mandrel_id="")


def model_of_book(
    book: Book,
    findings: Sequence[Finding],
    options: argparse.Namespace,
    progress: Callable[[str], None],
    *,
    mandrel_id: str,
) -> tuple[SpringModel, Unlearned]:
    """The model in use, or the version named, after learning `book` where --train was given.

    Raises BookError where it is a model of another book. Batches that only a later version learned count as learned:
    that version was tried, and forecasts worse.
    """
    store = ModelStore(Path(options.store))
    measured = measured_batches(book, findings)
    if options.train and (store.in_use() is None or _lacks(book, measured, store, None, mandrel_id)):
        # Training brings the regressors it is held against, half a second that asking does not need.
        from springfit.watching.judged_training import train_judged

        train_judged(book, findings, store, progress=progress)
    model = store.load(options.version)
    lacking = unlearned(book, measured, learned_by(model), mandrel_id)
    if lacking.foreign:
        what = f"model {model.version} was learned from another book: this one has none of its batches"
        remedy = f"run springfit train {book.folder} --store {options.store}, or name another --store"
        raise BookError([Finding("error", str(options.store), None, None, what, "a model of this book", remedy)])
    if lacking and options.version is None and not _lacks(book, measured, store, store.versions()[-1], mandrel_id):
        return model, ALL_LEARNED
    return model, lacking


def naming(told: Forecast, lacking: Unlearned) -> Forecast:
    """The forecast, with a note that names what its model has not learned."""
    if not lacking:
        return told
    return replace(told, notes=(*told.notes, CoverageNote("not_learned", (*lacking.own, *lacking.others))))


def order_before(book: Book, target_id: str, out: Path) -> Ordered | None:
    """The cut that a report stored in `out` ordered of the mandrel's last revision but one; None without one."""
    mandrels = book.mandrels[book.mandrels["mandrel_id"] == mandrel_of(book, target_id)]
    revisions = sorted(mandrels["revision"].astype(int))
    report = order_for(out, target_id, revisions[-2]) if len(revisions) > 1 else None
    return report.ordered if report else None


def _lacks(book: Book, measured: dict[str, str], store: ModelStore, version: str | None, mandrel_id: str) -> bool:
    """Whether a stored version has not learned all of the book, or is of another."""
    lacking = unlearned(book, measured, learned_by(store.load(version)), mandrel_id)
    return bool(lacking) or lacking.foreign


def check_alloys(path: str, alloys: list[str]) -> None:
    """BookError for a conditions file that names an alloy the table does not have."""
    problems = []
    for index, unknown in unknown_alloys(alloys):
        found = f"found {unknown.found!r}"
        expected = f"{unknown.expected}; for another metal: E 103 GPa, yield 140 MPa (annealed)"
        problems.append(Finding("error", Path(path).name, index + 2, "alloy", found, expected))
    if problems:
        raise BookError(problems)
