"""The summary of a survey, as its page and its paper print it: one text for both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from springfit.reporting.pages.printed_tables import Number, Sheet, printed
from springfit.reporting.wording.column_labels import lengths_note, units_line
from springfit.reporting.wording.length_wording import Units, amount, others, place
from springfit.reporting.wording.survey_wording import (
    headline,
    limits_of_survey,
    odd_words,
    specimen_words,
    tolerance_words,
)
from springfit.reporting.wording.verdict_wording import unbroken
from springfit.survey.survey_tables import (
    difference_table,
    facet_table_of,
    on_specimens,
    piece_table,
)

if TYPE_CHECKING:
    from springfit.survey.family_survey import Survey
    from springfit.survey.shared_facets import SharedFacet

__all__ = ["SurveySummary", "summarise_survey"]

_FACETS_SHOWN = [
    "facet", "kind", "z_mm", "place_error_mm", "depth_mm", "depth_error_mm", "width_mm", "kink_deg", "found_on", "of",
]  # fmt: skip
_PRINTED_STATIONS = 24  # rows that fit on a page; the file has all
NO_FACET = "no departure from a fair flare that the stations bear out"


@dataclass(frozen=True)
class SurveySummary:
    """Everything the report of a survey says, as text."""

    title: str
    units_line: str
    word: str
    action: str
    reason: str
    facts: tuple[Number, ...]
    limits: tuple[str, ...]
    sheets: tuple[Sheet, ...]
    notes: tuple[str, ...]
    footer: str
    picture_says: str


def summarise_survey(survey: Survey, *, units: Units, more: Sequence[Sheet] = ()) -> SurveySummary:
    """The summary in `units`; more: sheets of what else was asked, behind the facets."""
    first = (_facets(survey, units), _on_specimens(survey, units))
    last = (_specimens(survey, units), _pieces(survey, units), _stations(survey, units))
    return SurveySummary(
        title=f"Family {survey.family}: one target from its originals",
        units_line=units_line(units, amounts="departures are"),
        word=f"± {amount(survey.tolerance, units)}",
        action=unbroken(headline(survey, units)),
        reason=unbroken(tolerance_words(survey, units)),
        facts=_facts(survey, units),
        limits=tuple(map(unbroken, limits_of_survey(survey, units))),
        sheets=tuple(sheet for sheet in (*first, *more, *last) if sheet.rows or sheet.note),
        notes=tuple(f"{one.what}; expected {one.expected}. {one.remedy}" for one in survey.findings),
        footer=f"target {survey.target_id} · records {survey.book_digest[:12]}",
        picture_says="Above: the originals laid over their common line, magnified. Below: its curvature.",
    )


def _facts(survey: Survey, units: Units) -> tuple[Number, ...]:
    count = len(survey.facets)
    where = ", ".join(
        f"{one.facet.kind} at z {place(one.facet.z, units)}, {_found(one)}"
        for one in survey.facets
    )
    between = survey.spread.between[np.isfinite(survey.spread.between)]
    spread = float(np.sqrt(np.mean(between**2))) if between.size else float("nan")
    slides = [one.slide for one in survey.differences]
    return (
        Number("Facets", str(count) if count else "none", where or NO_FACET),
        Number("Spread", amount(spread, units), f"{others(spread, units)}; two originals in three lie so near."),
        Number("Odd one", survey.odd.specimen_id if survey.odd else "none", unbroken(odd_words(survey, units))),
        Number(
            "Tails cut", f"{place(max(slides) - min(slides), units)} {units}",
            "from the shortest to the longest of them along the axis, taken out.",
        ),
    )  # fmt: skip


def _found(shared: SharedFacet) -> str:
    """On how many originals a facet was found; where stations are too sparse none of them can tell."""
    if not shared.facet.tells_depth and not shared.found_in:
        return "its depth not told by so sparse stations"
    return f"in {shared.found_in} of {len(shared.on)}"


def _facets(survey: Survey, units: Units) -> Sheet:
    shown = facet_table_of(survey)[_FACETS_SHOWN]
    note = f"{lengths_note(units)} Depth beyond the flare's own curve, under a straightedge. "
    note += "Known to: so near, two times in three."
    empty = "No facet: no place departs from the fair flare around it by more than the stations leave open."
    return printed(shown, "Facets of the family", note=note, units=units, empty=empty)


def _on_specimens(survey: Survey, units: Units) -> Sheet:
    note = "Whether each original has the facet, how deep, and how far along the arc from the common place."
    return printed(on_specimens(survey), "Facets of each original", note=note, units=units, empty="")


def _specimens(survey: Survey, units: Units) -> Sheet:
    table = difference_table(survey)
    said = [specimen_words(one, survey, units) for one in survey.differences]
    table = table.drop(columns=["odd", "slow_mm"]).assign(says=pd.Series(said, dtype=object))
    note = (
        "Slide and offset were taken out before shapes were compared: an offset is what wear, buffing or a wall read "
        "at one place explains; what it is off by then, as a rule, is shape."
    )
    return printed(table, "The originals", note=note, units=units, empty="")


def _pieces(survey: Survey, units: Units) -> Sheet:
    note = (
        f"Tapers and arcs that give the line within {amount(0.015, units)}; where arcs get short the flare is free. "
        "Known to: where a piece begins, along the arc, two times in three."
    )
    pieces = piece_table(survey)
    pieces["radius"] = [place(value, units) if np.isfinite(value) else "" for value in pieces.pop("radius_mm")]
    return printed(pieces, "What the line is made of", note=note, units=units, empty="")


def _stations(survey: Survey, units: Units) -> Sheet:
    rows = np.unique(np.linspace(0, survey.stations.s.size - 1, _PRINTED_STATIONS).round().astype(int))
    frame = pd.DataFrame(
        {
            "z_mm": survey.stations.z, "target_diameter_mm": 2.0 * survey.stations.r,
            "error_mm": survey.spread.error, "between_mm": survey.spread.between,
            "agree": survey.spread.agree.astype(int), "masked": survey.spread.masked,
        }
    ).iloc[rows]  # fmt: skip
    frame = frame.rename(columns={"error_mm": "known_to_mm"})
    note = f"{lengths_note(units)} Every station is in target_profile.csv and specimen_spread.csv."
    return printed(frame, "Stations", note=note, units=units, empty="")
