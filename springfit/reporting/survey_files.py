"""Writing the files of a survey, all or none."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from springfit.files import write_files
from springfit.reporting.figures.drawing import line_drawing
from springfit.reporting.figures.images import as_png, as_svg
from springfit.reporting.figures.survey_figure import survey_picture
from springfit.reporting.pages.exported_tables import DATA_DECIMALS, SHOP_DECIMALS, csv_bytes
from springfit.reporting.pages.html import survey_page
from springfit.reporting.pages.survey_paper import survey_paper
from springfit.reporting.pages.survey_summary import summarise_survey
from springfit.reporting.wording.length_wording import Units
from springfit.survey.survey_tables import (
    facet_table_of,
    on_specimens,
    spread_table,
    target_tables_of,
)

if TYPE_CHECKING:
    from springfit.reporting.pages.printed_tables import Sheet
    from springfit.survey.family_survey import Survey

__all__ = ["target_sheets", "write_survey"]


def write_survey(survey: Survey, out: Path, *, units: Units, more: Sequence[Sheet] = ()) -> tuple[Path, ...]:
    """Writes the report of a survey and its tables into the folder `out`, all or none; returns the paths.

    Files: target_profile.csv (in the record book's form), specimen_spread.csv, facets.csv, specimen_facets.csv,
    target.dxf, survey.html, survey.pdf (Letter for inches, A4 for mm). Raises OSError when it cannot be written.
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
        "survey.html": survey_page(summary, picture=as_svg(picture, name="survey")).encode("utf-8"),
        "survey.pdf": survey_paper(
            summary, picture=as_png(picture, dots_per_inch=240), paper="letter" if units == "in" else "a4"
        ),
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
