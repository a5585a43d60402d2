"""The command `watch`: every batch of a book beside what was forecast of it, and the shop at a glance."""

from __future__ import annotations

import argparse
from pathlib import Path

from springfit.commands.asking import model_of_book
from springfit.commands.saying import Progress, say_files, units_asked
from springfit.findings import BookError, Finding
from springfit.records.reading import read_book
from springfit.reporting.stored_reports import last_verdicts
from springfit.reporting.watching_pages.watch_files import write_watch
from springfit.watching.history import mandrel_histories
from springfit.watching.kept.kept_judgements import KeptJudgements
from springfit.watching.shop_glance import shop_at_a_glance
from springfit.watching.watch import Watch, watch

__all__ = ["run_watch"]


def run_watch(options: argparse.Namespace) -> int:
    """Judge every batch and write the page of one of them, the newest unless another was asked for."""
    book, findings = read_book(options.book, decimal_comma=options.decimal_comma)
    progress = Progress()
    model, _ = model_of_book(book, findings, options, progress, mandrel_id="")
    # A version asked for by name says what it says now; what others said of the batches is not looked up.
    kept = None if options.version else KeptJudgements(Path(options.store))
    watched = watch(book, findings, model, kept, progress=progress)
    shown = _asked(watched, options.batch)
    reports = last_verdicts([Path(folder) for folder in (*options.reports, "correction")])
    rows = shop_at_a_glance(book, watched.states, reports)
    histories = mandrel_histories(book, watched.batches, watched.wear, reports)
    paths = write_watch(
        watched, rows, histories, Path(options.out), units=units_asked(options, book.units), batch_id=shown
    )
    state = watched.states[shown]
    summary = {
        "batch": shown, "state": state, "states": watched.states, "model_version": watched.model_version,
        "findings": sorted({named.name for one in watched.batches for named in one.judged.named}),
    }  # fmt: skip
    say_files(options, paths, summary, f"{shown}: {state.upper()}")
    return 0


def _asked(watched: Watch, batch: str | None) -> str:
    """The batch to show; BookError where there is none, or no such one."""
    judged = [one.judged.batch_id for one in watched.batches]
    if not judged:
        what, expected = "no bell of this book was measured", "at least one batch with readings"
        raise BookError([Finding("error", "measurements", None, None, what, expected)])
    if batch is not None and batch not in judged:
        what, expected = f"no batch {batch!r} with readings", f"one of {', '.join(judged[-12:])}"
        raise BookError([Finding("error", "--batch", None, None, what, expected)])
    return batch or judged[-1]
