"""The command `correct`: from a target in the book to a verdict, a cut table and the report that says why."""

from __future__ import annotations

import argparse
from pathlib import Path

from springfit.commands.asking import check_alloys, model_of_book, order_before
from springfit.commands.saying import Progress, say_files, units_asked
from springfit.decisions.correction import correct
from springfit.decisions.learned_shop import LearnedShop
from springfit.decisions.unlearned import require_askable
from springfit.records.conditions import read_conditions
from springfit.records.reading import read_book
from springfit.reporting.output_files import write_correction
from springfit.reporting.wording.reason_wording import reason_words

__all__ = ["run_correct"]


def run_correct(options: argparse.Namespace) -> int:
    """Judge the target's mandrel and write the correction report."""
    book, findings = read_book(options.book, decimal_comma=options.decimal_comma)
    mandrel = require_askable(book, findings, options.target)
    model, unlearned = model_of_book(book, findings, options, Progress(), mandrel_id=mandrel)
    asked = None
    if options.conditions:
        asked = read_conditions(options.conditions, decimal_comma=options.decimal_comma)[0]
        check_alloys(options.conditions, [asked.alloy])
    units = units_asked(options, book.units)
    done = correct(
        LearnedShop(model), book, options.target, conditions=asked,
        cost_ratio=options.cost_ratio, skive_mm=options.skive, unlearned=unlearned,
        ordered=order_before(book, options.target, Path(options.out)),
    )  # fmt: skip
    paths = write_correction(done, Path(options.out), units=units)
    verdict, reason = done.verdict.verdict, reason_words(done.verdict.reason, units)
    summary = {"target": options.target, "verdict": verdict, "reason": reason}
    say_files(options, paths, summary, f"{verdict.upper()}: {reason}")
    return 0
