"""The command `survey`: a family of originals read, surveyed, written, and where asked added to the book."""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path
from typing import Any

from springfit.records.editing.adding import add_sheets
from springfit.records.reading import read_book
from springfit.reporting.survey_files import target_sheets, write_survey
from springfit.reporting.wording.length_wording import Units
from springfit.reporting.wording.survey_wording import headline, tolerance_words
from springfit.survey.family_survey import Survey, survey_family

__all__ = ["run_survey"]


def run_survey(options: argparse.Namespace) -> tuple[str, tuple[Path, ...], dict[str, Any]]:
    """What to say first, the files written, and the summary for scripts. Raises BookError for input at fault."""
    book, _ = read_book(options.book, decimal_comma=options.decimal_comma)
    units: Units = "in" if (options.units or book.units) == "in" else "mm"
    survey = survey_family(book, options.family)
    paths = write_survey(survey, Path(options.out), units=units)
    said = [headline(survey, units), tolerance_words(survey, units), _facet_words(survey)]
    said += [f"doubt: {one.what}, {one.remedy}" for one in survey.findings]
    summary = {
        "family": survey.family, "target_id": survey.target_id, "tolerance_mm": survey.tolerance,
        "specimens": [one.specimen_id for one in survey.consensus.specimens],
        "facets": len(survey.facets), "added": bool(options.add_target),
    }  # fmt: skip
    if options.add_target:
        said += _added(survey, options.book, units)
    return "\n".join(said), paths, summary


def _facet_words(survey: Survey) -> str:
    if not survey.facets:
        return "No facet that the stations bear out."
    told = (f"{one.facet.kind} in {one.found_in} of {len(one.on)}" for one in survey.facets)
    return f"Facets: {', '.join(told)}."


def _added(survey: Survey, book: str, units: Units) -> list[str]:
    """The target added as `springfit add` would, from sheets that are kept nowhere else."""
    with tempfile.TemporaryDirectory() as folder:
        sheets = target_sheets(survey, Path(folder) / f"survey-{survey.family}", units=units)
        return list(add_sheets(book, sheets).lines())
