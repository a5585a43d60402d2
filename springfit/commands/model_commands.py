"""The commands `train` and `predict`: a model of the book, and the bell it forecasts of a draft mandrel."""

from __future__ import annotations

import argparse
from pathlib import Path

from springfit.commands.asking import asked_model, check_alloys, naming
from springfit.commands.saying import Progress, say, say_files, units_asked
from springfit.decisions.compared_conditions import compare_conditions
from springfit.learning.data.mandrel_steel import draft_meridian
from springfit.learning.versions.store import ModelStore
from springfit.records.conditions import read_conditions, read_profile
from springfit.records.reading import read_book
from springfit.reporting.comparing.difference_wording import difference_words
from springfit.reporting.output_files import write_prediction
from springfit.reporting.training_words import doubted_lines, training_summary, training_text, write_left_out
from springfit.watching.judged_training import train_judged

__all__ = ["run_predict", "run_train"]


def run_train(options: argparse.Namespace) -> int:
    """Learn the book and store a version."""
    book, findings = read_book(options.book, decimal_comma=options.decimal_comma)
    done = train_judged(book, findings, ModelStore(Path(options.store)), progress=Progress())
    picture = write_left_out(done, Path(options.store))
    seen = f"\nleft-out errors as a picture: {picture}" if picture else ""
    doubted = doubted_lines(findings, done.set_aside, book.units)
    summary = {**training_summary(done), "doubts": doubted}
    say(options, "\n".join([training_text(done) + seen, *doubted]), summary)
    return 0


def run_predict(options: argparse.Namespace) -> int:
    """Forecast a draft mandrel's bell under one or more conditions."""
    mandrel = draft_meridian(*read_profile(options.profile, decimal_comma=options.decimal_comma))
    conditions = read_conditions(options.conditions, decimal_comma=options.decimal_comma)
    check_alloys(options.conditions, [one.alloy for one in conditions])
    model, unlearned = asked_model(options, Progress())
    forecasts, differences = compare_conditions(model, mandrel, conditions, stage=options.stage)
    told, units = [naming(one, unlearned) for one in forecasts], units_asked(options, model.units)
    paths = write_prediction(told, Path(options.out), units=units, differences=differences)
    lines = [difference_words(one, units) for one in differences]
    summary = {"model_version": model.version, "names": [one.name for one in told], "differences": lines}
    say_files(options, paths, summary, "\n".join(lines))
    return 0
