"""The command `survey`: a family of originals into a target, or a mandrel's revisions into the line of a new one."""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path
from typing import Any

from springfit.commands.saying import say_files, units_asked
from springfit.findings import BookError, Finding
from springfit.learning.model import SpringModel
from springfit.learning.versions.store import ModelStore
from springfit.records.blank_cells import USUAL_WALL_MM
from springfit.records.book import Book
from springfit.records.editing.adding import add_sheets
from springfit.records.reading import read_book
from springfit.reporting.survey_files import target_sheets, write_copy, write_survey
from springfit.reporting.survey_pages.copy_summary import summarise_copy
from springfit.reporting.survey_pages.mandrel_sheets import (
    blank_sheet,
    mandrel_sheets,
    ranking_table,
    set_on_table,
)
from springfit.reporting.wording.length_wording import Units
from springfit.reporting.wording.survey_wording import headline, odd_words, tolerance_words
from springfit.survey.blank import Blank, blank_for, shop_rims, thinning_of
from springfit.survey.family_survey import Survey, survey_family
from springfit.survey.mandrels.copying import copied
from springfit.survey.mandrels.revisions_measured import revisions_measured
from springfit.survey.mandrels.shop_mandrels import MandrelAnswers, ask_mandrels

__all__ = ["run_survey"]

Told = tuple[str, tuple[Path, ...], dict[str, Any]]  # what to say first, the files, the summary for scripts


def run_survey(options: argparse.Namespace) -> int:
    """Survey a family, or copy a mandrel, and write what came of it."""
    book, _ = read_book(options.book, decimal_comma=options.decimal_comma)
    units = units_asked(options, book.units)
    first, paths, summary = (_copy if options.mandrel else _survey)(book, options, units)
    say_files(options, paths, summary, first)
    return 0


def _survey(book: Book, options: argparse.Namespace, units: Units) -> Told:
    survey = survey_family(book, options.family)
    model = _model(Path(options.store))
    answers = None
    if model is not None:
        answers = ask_mandrels(
            book, model, survey.consensus.line, survey.family,
            tolerance=survey.tolerance, known_to=(survey.spread.s, survey.spread.error),
        )  # fmt: skip
    sheets = () if answers is None else mandrel_sheets(answers, units)
    tables = {} if answers is None else {
        "mandrels.csv": ranking_table(answers), "set_on_mandrels.csv": set_on_table(answers),
    }  # fmt: skip
    more = (*sheets, blank_sheet(_blank(book, survey), units))
    paths = write_survey(survey, Path(options.out), units=units, more=more, tables=tables)
    said = [
        headline(survey, units),
        tolerance_words(survey, units),
        _facet_words(survey),
        f"Odd one: {odd_words(survey, units)}.",
        _mandrel_words(answers),
    ]
    said += [f"doubt: {one.what}, {one.remedy}" for one in survey.findings]
    summary = {
        "family": survey.family, "target_id": survey.target_id, "tolerance_mm": survey.tolerance,
        "specimens": [one.specimen_id for one in survey.consensus.specimens],
        "odd": survey.odd.specimen_id if survey.odd else None,
        "facets": len(survey.facets), "added": bool(options.add_target),
        "mandrels": [one.mandrel_id for one in answers.ranking] if answers else [],
    }  # fmt: skip
    if options.add_target:
        said += _added(survey, options.book, units, _best(answers))
    return "\n".join(said), paths, summary


def _copy(book: Book, options: argparse.Namespace, units: Units) -> Told:
    revisions = revisions_measured(book, options.mandrel)
    try:
        copy = copied(revisions)
    except ValueError as unfit:
        what = f"the revisions of {options.mandrel} follow no common line ({unfit})"
        expected = "one mandrel measured from time to time"
        raise BookError([Finding("error", "mandrel_profile", None, "mandrel_id", what, expected)]) from None
    since = f"From {', '.join(one.name for one in revisions)}: what was measured since it was last recut."
    summary = summarise_copy(copy, options.mandrel, units=units, book_digest=book.digest, since=since)
    paths = write_copy(copy, summary, Path(options.out), units=units)
    facts = {
        "mandrel": options.mandrel,
        "revisions": len(revisions),
        "bells": max(one.bells for one in revisions),
    }
    return summary.action, paths, facts


def _model(store: Path) -> SpringModel | None:
    """The version in use, where anything was trained: without one, mandrels are not asked."""
    shelf = ModelStore(store)
    return shelf.load() if shelf.in_use() is not None else None


def _blank(book: Book, survey: Survey) -> Blank:
    walls = sorted(one.wall for one in survey.consensus.specimens if one.wall_stated)
    wall = walls[len(walls) // 2] if walls else USUAL_WALL_MM
    return blank_for(survey.consensus.line, thinning=thinning_of(book), rims=shop_rims(book), wall=wall)


def _facet_words(survey: Survey) -> str:
    if not survey.facets:
        return "No facet that the stations bear out."
    told = (f"{one.facet.kind} in {one.found_in} of {len(one.on)}" for one in survey.facets)
    return f"Facets: {', '.join(told)}."


def _mandrel_words(answers: MandrelAnswers | None) -> str:
    if answers is None:
        return "No trained model, so no mandrel was asked: run springfit train first, or name its folder with --store."
    best = _best(answers)
    if best is None:
        return "No mandrel of the book comes near it."
    return f"Nearest mandrel: {best}{'' if answers.ranking[0].fits else ', with steel to change'}."


def _best(answers: MandrelAnswers | None) -> str | None:
    """The first of the ranking, where its bell is of this kind at all."""
    near = [one for one in answers.ranking if one.rms < 1.0] if answers else []
    return near[0].mandrel_id if near else None


def _added(survey: Survey, book: str, units: Units, mandrel_id: str | None) -> list[str]:
    """The target added as `springfit add` would, from sheets that are kept nowhere else."""
    with tempfile.TemporaryDirectory() as folder:
        sheets = Path(folder) / f"survey-{survey.family}"
        return list(
            add_sheets(book, target_sheets(survey, sheets, units=units, mandrel_id=mandrel_id)).lines()
        )
