"""The command `correct`: from a target in the book to a verdict, a cut table and the report that says why."""

from __future__ import annotations

import argparse
from pathlib import Path

from springfit.commands.asking import check_alloys, model_of_book, order_before
from springfit.commands.saying import Progress, say_files, units_asked
from springfit.decisions.correction import correct
from springfit.decisions.cut_tables.sizes_to_turn import USUAL_SKIVE_MM
from springfit.decisions.learned_shop import LearnedShop
from springfit.decisions.unlearned import require_askable
from springfit.findings import BookError, Finding
from springfit.lengths import MM_PER_UNIT
from springfit.records.conditions import read_conditions
from springfit.records.reading import read_book
from springfit.reporting.output_files import write_correction
from springfit.reporting.wording.reason_wording import reason_words

__all__ = ["run_correct"]

_MOST_SKIVE_MM = 1.0  # ten times the usual: more was meant in another unit


def run_correct(options: argparse.Namespace) -> int:
    """Judge the target's mandrel and write the correction report."""
    book, findings = read_book(options.book, decimal_comma=options.decimal_comma)
    mandrel = require_askable(book, findings, options.target)
    asked = None
    if options.conditions:  # every row is looked at before anything is worked out, the first is asked for
        rows = read_conditions(options.conditions, decimal_comma=options.decimal_comma)
        check_alloys(options.conditions, [row.alloy for row in rows])
        asked = rows[0]
    model, unlearned = model_of_book(book, findings, options, Progress(), mandrel_id=mandrel)
    units = units_asked(options, book.units)
    done = correct(
        LearnedShop(model), book, options.target, conditions=asked,
        cost_ratio=options.cost_ratio, skive_mm=_skive_mm(options.skive, units), unlearned=unlearned,
        ordered=order_before(book, options.target, Path(options.out)),
    )  # fmt: skip
    paths = write_correction(done, Path(options.out), units=units)
    verdict, reason = done.verdict.verdict, reason_words(done.verdict.reason, units)
    summary = {"target": options.target, "verdict": verdict, "reason": reason}
    say_files(options, paths, summary, f"{verdict.upper()}: {reason}")
    return 0


def _skive_mm(asked: tuple[float, str] | None, units: str) -> float:
    """Stock for the skive [mm]; a number without a unit is in that of what is written. BookError for too much."""
    if asked is None:
        return USUAL_SKIVE_MM
    value, unit = asked
    stock = value * MM_PER_UNIT[unit or units]
    if stock > _MOST_SKIVE_MM:
        what = f"{value:g} {unit or units} is {stock:.3g} mm"
        expected = f"at most {_MOST_SKIVE_MM:g} mm per side"
        raise BookError([Finding("error", "--skive", None, None, what, expected, "name the unit: 4thou, 0.1mm")])
    return stock
