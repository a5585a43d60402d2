"""Writing the files of a survey, all or none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from springfit.files import write_files
from springfit.reporting.figures.copy_figure import copy_picture
from springfit.reporting.figures.drawing import line_drawing
from springfit.reporting.figures.images import as_png, as_svg
from springfit.reporting.figures.survey_figure import survey_picture
from springfit.reporting.pages.exported_tables import DATA_DECIMALS, SHOP_DECIMALS, csv_bytes
from springfit.reporting.pages.paper import Paper
from springfit.reporting.survey_pages.copy_summary import copy_line_table
from springfit.reporting.survey_pages.survey_page import survey_page
from springfit.reporting.survey_pages.survey_paper import survey_paper
from springfit.reporting.survey_pages.survey_summary import summarise_survey
from springfit.reporting.wording.length_wording import Units
from springfit.survey.survey_tables import (
    facet_table_of,
    on_specimens,
    spread_table,
    target_tables_of,
)

if TYPE_CHECKING:
    from springfit.reporting.pages.printed_tables import Sheet
    from springfit.reporting.survey_pages.survey_summary import SurveySummary
    from springfit.survey.family_survey import Survey
    from springfit.survey.mandrels.copying import Copy

__all__ = ["target_sheets", "write_copy", "write_survey"]

_PAPER: dict[Units, Paper] = {"mm": "a4", "in": "letter"}  # the paper where each unit is at home


def write_survey(
    survey: Survey,
    out: Path,
    *,
    units: Units,
    more: Sequence[Sheet] = (),
    tables: Mapping[str, pd.DataFrame] | None = None,
) -> tuple[Path, ...]:
    """Writes the report of a survey and its tables into the folder `out`, all or none; returns the paths.

    Files: target_profile.csv (in the record book's form), specimen_spread.csv, facets.csv, specimen_facets.csv,
    target.dxf, survey.html, survey.pdf (Letter for inches, A4 for mm). more, tables: sheets of the page and CSV files
    of what else was asked. Raises OSError when it cannot be written.
    """
    summary = summarise_survey(survey, units=units, more=more)
    picture = survey_picture(survey, units=units)
    contents = {
        "target_profile.csv": csv_bytes(
            target_tables_of(survey)["target_profile"], units, decimals=DATA_DECIMALS
        ),
        "specimen_spread.csv": csv_bytes(spread_table(survey), units, decimals=DATA_DECIMALS),
        "facets.csv": csv_bytes(facet_table_of(survey), units, decimals=SHOP_DECIMALS),
        "specimen_facets.csv": csv_bytes(on_specimens(survey), units, decimals=SHOP_DECIMALS),
        "target.dxf": line_drawing(survey.stations.z, survey.stations.r, units=units),
        "survey.html": survey_page(
            summary, picture=as_svg(picture, name="survey"),
            narrow=as_svg(survey_picture(survey, units=units, narrow=True), name="narrow"),
        ).encode("utf-8"),
        "survey.pdf": survey_paper(summary, picture=as_png(picture, dots_per_inch=240), paper=_PAPER[units]),
    }
    extra = {name: csv_bytes(table, units, decimals=SHOP_DECIMALS) for name, table in (tables or {}).items()}
    return write_files({**contents, **extra}, out)


def write_copy(copy: Copy, summary: SurveySummary, out: Path, *, units: Units) -> tuple[Path, ...]:
    """Writes the line of a new mandrel: new_mandrel.csv, new_mandrel.dxf, copy.html, copy.pdf, all or none."""
    picture = copy_picture(copy, units=units)
    contents = {
        "new_mandrel.csv": csv_bytes(copy_line_table(copy), units, decimals=DATA_DECIMALS),
        "new_mandrel.dxf": line_drawing(copy.z, copy.diameter / 2, units=units),
        "copy.html": survey_page(
            summary, picture=as_svg(picture, name="copy"),
            narrow=as_svg(copy_picture(copy, units=units, narrow=True), name="narrow"),
        ).encode("utf-8"),
        "copy.pdf": survey_paper(summary, picture=as_png(picture, dots_per_inch=240), paper=_PAPER[units]),
    }
    return write_files(contents, out)


def target_sheets(survey: Survey, folder: Path, *, units: Units, mandrel_id: str | None = None) -> Path:
    """Writes `targets` and `target_profile` as sheets that `springfit add` takes; returns the folder."""
    tables = target_tables_of(survey, mandrel_id)
    sheets = {
        f"{name}.csv": csv_bytes(table, units, decimals=DATA_DECIMALS) for name, table in tables.items()
    }
    write_files(sheets, folder)
    return folder
