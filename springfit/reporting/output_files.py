"""Writing the files of a command: everything is rendered first, then put in place, all or none."""

from __future__ import annotations

import datetime
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from springfit.files import write_files
from springfit.reporting.comparing.compared_figure import compared_picture
from springfit.reporting.comparing.comparison_summary import differences_table, summarise_comparison
from springfit.reporting.figures.bell_figures import correction_picture
from springfit.reporting.figures.drawing import profile_drawing
from springfit.reporting.figures.forecast_figure import forecast_picture
from springfit.reporting.figures.images import as_png, as_svg
from springfit.reporting.pages.bells_sheet import bells_file
from springfit.reporting.pages.card import card_paper
from springfit.reporting.pages.correction_summary import dated, summarise
from springfit.reporting.pages.exported_tables import (
    DATA_DECIMALS,
    SHOP_DECIMALS,
    csv_bytes,
    for_the_hand,
    json_bytes,
)
from springfit.reporting.pages.html import correction_page, prediction_page
from springfit.reporting.pages.paper import Paper
from springfit.reporting.pages.pdf import correction_paper
from springfit.reporting.pages.prediction_summary import predicted_bell, summarise_forecast
from springfit.reporting.pages.printed_tables import Sheet, in_small_unit, printed
from springfit.reporting.stored_reports import StoredReport, file_away, newest_report
from springfit.reporting.wording.changes_wording import changes_since
from springfit.reporting.wording.column_labels import lengths_note, units_line
from springfit.reporting.wording.facet_wording import facets_with_notes
from springfit.reporting.wording.length_wording import Units, small_unit
from springfit.reporting.wording.reason_wording import reason_words
from springfit.reporting.wording.zones import is_masked

if TYPE_CHECKING:
    from springfit.decisions.compared_conditions import Difference
    from springfit.decisions.correction import Correction
    from springfit.decisions.forecast import Forecast

__all__ = ["write_correction", "write_prediction"]

_PAPER: dict[Units, Paper] = {"mm": "a4", "in": "letter"}  # the paper where each unit is at home

DIFFERENCES = "differences.csv"
_CHANCE_DECIMALS = 4  # no chance is known as finely
_KEPT_INSIDE = ["s_mm", "slope_rad", "trust"]  # columns of the stations that are no business of a reader
_ON_PAGE_ONLY = ["sure_removal_mm", "bells_error_mm", "bells_sd_mm"]  # the file keeps the columns that scripts know
_PRINTED_STATIONS = [
    "z_mm",
    "target_diameter_mm",
    "present_diameter_mm",
    "diameter_mm",
    "cut_now_diameter_mm",
    "error_mm",
    "bells_error_mm",
    "sure_removal_mm",
    "masked",
]


def write_correction(
    correction: Correction, out: Path, *, units: Units, now: datetime.datetime | None = None
) -> tuple[Path, ...]:
    """Writes the report of a correction and its tables into the folder `out`, all or none; returns the paths.

    Files: verdict.json, corrected_mandrel.csv, corrected_mandrel.dxf, bells.csv, cut_table.csv, facets.csv,
    card.pdf, correction.html, correction.pdf (Letter for inches, A4 for mm). What lay there of an earlier report is
    kept in earlier/DATE. now: the date of the report, today's unless stated.
    Raises OSError when the folder cannot be written.
    """
    written = (_clock() if now is None else now).isoformat(timespec="seconds")
    before = newest_report(out, correction.job.target_id)
    changes = changes_since(before, correction, _batches(correction), units) if before else ()
    summary = dated(summarise(correction, units=units), written, before, changes)
    picture = correction_picture(correction, units=units)
    stations = _stations(correction)
    page = correction_page(
        summary, picture=as_svg(picture, name="bell"), stations=_station_sheet(stations, units),
        narrow=as_svg(correction_picture(correction, units=units, narrow=True), name="narrow"),
    )  # fmt: skip
    contents = {
        "verdict.json": json_bytes(
            {**_verdict_facts(correction, units), **_history(correction, written, before, changes)}, units
        ),
        "corrected_mandrel.csv": csv_bytes(stations.drop(columns=_ON_PAGE_ONLY), units, decimals=DATA_DECIMALS),
        "bells.csv": csv_bytes(bells_file(correction), units, decimals=DATA_DECIMALS),
        "card.pdf": card_paper(correction, summary, units=units, paper=_PAPER[units]),
        "cut_table.csv": csv_bytes(for_the_hand(correction.cut_table, units), units, decimals=SHOP_DECIMALS),
        "facets.csv": csv_bytes(facets_with_notes(correction.facets, units), units, decimals=SHOP_DECIMALS),
        "corrected_mandrel.dxf": profile_drawing(correction, units=units),
        "correction.html": page.encode("utf-8"),
        "correction.pdf": correction_paper(
            summary, picture=as_png(picture, dots_per_inch=240), paper=_PAPER[units]
        ),
    }
    file_away(out, contents)
    return write_files(contents, out)


def write_prediction(
    forecasts: Sequence[Forecast], out: Path, *, units: Units, differences: Sequence[Difference] = ()
) -> tuple[Path, ...]:
    """Writes predicted_bell.csv and prediction.html into the folder `out`, and differences.csv where conditions are
    compared, all or none. Returns the paths.

    Raises ValueError without a forecast, OSError when the folder cannot be written.
    """
    if not forecasts:
        raise ValueError("no forecast to write, expected at least one row of conditions")
    summaries = [summarise_forecast(forecast, units=units) for forecast in forecasts]
    pictures = [_gap_pictures(one, units, f"gap{_letters(number)}") for number, one in enumerate(forecasts)]
    compared = None
    if differences:
        overlaid, narrow = (
            as_svg(compared_picture(forecasts, differences, units=units, narrow=narrow), name=name)
            for narrow, name in ((False, "compared"), (True, "comparednarrow"))
        )
        compared = (summarise_comparison(differences, units=units), overlaid, narrow)
    page = prediction_page(
        summaries, pictures=pictures, units_line=units_line(units, amounts="gaps are"), compared=compared
    )
    contents = {
        "predicted_bell.csv": csv_bytes(predicted_bell(forecasts), units, decimals=DATA_DECIMALS),
        "prediction.html": page.encode("utf-8"),
    }
    if differences:
        contents[DIFFERENCES] = csv_bytes(differences_table(differences), units, decimals=DATA_DECIMALS)
    file_away(out, {*contents, DIFFERENCES})
    paths = write_files(contents, out)
    if not differences:  # those of an earlier prediction are filed away, and would belie this one
        (out / DIFFERENCES).unlink(missing_ok=True)
    return paths


def _gap_pictures(forecast: Forecast, units: Units, name: str) -> tuple[str, str]:
    """A forecast's picture for a wide page, and for a telephone."""
    wide, narrow = (forecast_picture(forecast, units=units, narrow=narrow) for narrow in (False, True))
    return as_svg(wide, name=name), as_svg(narrow, name=f"{name}narrow")


def _clock() -> datetime.datetime:
    """The time of now, or the one that SOURCE_DATE_EPOCH states [s] for whoever makes the same files again."""
    stated = os.environ.get("SOURCE_DATE_EPOCH", "")
    if stated.isdigit():
        return datetime.datetime.fromtimestamp(int(stated), tz=datetime.UTC).replace(tzinfo=None)
    return datetime.datetime.now()


def _batches(correction: Correction) -> list[str]:
    """The measured batches of the mandrel."""
    return list(dict.fromkeys(map(str, correction.measured["batch_id"])))


def _history(
    correction: Correction, written: str, before: StoredReport | None, changes: Sequence[str]
) -> dict[str, Any]:
    """When the report was written, on what, and what it says against the one before."""
    return {
        "written": written,
        "batches": _batches(correction),
        "conditions": {name: value for name, value in vars(correction.conditions).items() if value is not None},
        "report_before": None if before is None else before.written,
        "changes": list(changes),
    }


def _stations(correction: Correction) -> pd.DataFrame:
    """The stations as the file has them, `masked` as yes or no."""
    return correction.stations.drop(columns=_KEPT_INSIDE).assign(masked=is_masked(correction.stations))


def _station_sheet(stations: pd.DataFrame, units: Units) -> Sheet:
    note = f"{lengths_note(units)} Errors in {small_unit(units)} per side. In full in corrected_mandrel.csv."
    shown = stations[_PRINTED_STATIONS].rename(columns={"diameter_mm": "need_diameter_mm"})
    shown = in_small_unit(shown, ["error_mm", *_ON_PAGE_ONLY[:2]], units)
    return printed(shown, "Every station", note=note, units=units, empty="")


def _verdict_facts(correction: Correction, units: Units) -> dict[str, Any]:
    """The verdict as other programs read it."""
    job, verdict = correction.job, correction.verdict
    return {
        "verdict": verdict.verdict,
        "reason": reason_words(verdict.reason, units),
        "target_id": job.target_id,
        "mandrel_id": job.mandrel_id,
        "revision": job.revision,
        "slide_mm": verdict.slide_mm,
        "largest_error_mm": verdict.largest_error_mm,
        "largest_error_at_mm": verdict.largest_error_at_mm,
        "largest_cut_mm": verdict.largest_cut_mm,
        "largest_cut_at_mm": verdict.largest_cut_at_mm,
        "chance_out_of_tolerance": {
            "before": round(verdict.chance_out_before, _CHANCE_DECIMALS),
            "after": round(verdict.chance_out_after, _CHANCE_DECIMALS),
        },
        "more_batches": verdict.more_batches,
        "model_version": correction.model_version,
        "book_digest": correction.book_digest,
    }


def _letters(number: int) -> str:
    """A number as letters a, b, ... z, ba, ...: ids inside a page must not begin with a digit."""
    letter = chr(ord("a") + number % 26)
    return letter if number < 26 else _letters(number // 26) + letter
