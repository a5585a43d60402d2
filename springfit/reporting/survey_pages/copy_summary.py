"""The summary of a mandrel's copy, as a survey's page has it: the line of a new one, what was undone of the old."""

from __future__ import annotations

import numpy as np
import pandas as pd

from springfit.reporting.pages.printed_tables import Number, Sheet, printed
from springfit.reporting.survey_pages.survey_summary import SurveySummary
from springfit.reporting.wording.column_labels import lengths_note, units_line
from springfit.reporting.wording.length_wording import Units, amount, both_ways, station
from springfit.reporting.wording.zones import stretches
from springfit.survey.mandrels.copying import Copy

__all__ = ["copy_line_table", "summarise_copy"]

_PRINTED_STATIONS = 40  # rows that fit on a page; the file has all


def copy_line_table(copy: Copy) -> pd.DataFrame:
    """A row a place: the new line, what it is known to, the wear undone, whether no sound station is near."""
    return pd.DataFrame(
        {
            "z_mm": copy.z, "diameter_mm": copy.diameter, "error_mm": copy.error, "wear_mm": copy.wear,
            "masked": copy.masked,
        }
    )  # fmt: skip


def summarise_copy(
    copy: Copy, mandrel_id: str, *, units: Units, book_digest: str, since: str
) -> SurveySummary:
    """The summary in `units`; since: words of which revisions count."""
    worst = int(np.argmax(copy.wear))
    bells = max(one.bells for one in copy.revisions)
    known = float(np.median(copy.error))
    first = (
        "measured before a bell was spun" if copy.first_was_measured else "worked back from the wear since"
    )
    return SurveySummary(
        title=f"Mandrel {mandrel_id}: the line of a new one",
        units_line=units_line(units, amounts="wear is"),
        word="COPY",
        action=f"Its first line from {len(copy.revisions)} revisions, {first}. Keep the old one as the master.",
        reason=since,
        facts=(
            Number(
                "Most worn", amount(float(copy.wear[worst]), units),
                f"{both_ways(float(copy.wear[worst]), units)} at {station(float(copy.z[worst]), units)}, "
                f"by {bells} bells.",
            ),
            Number("Plating", amount(_plating(copy), units), "found on the plated revisions and left off the line."),
            Number("Known to", amount(known, units), "square to the new line, at most places, two times in three."),
        ),
        limits=_limits(copy, units),
        sheets=(_revisions(copy, units), _line(copy, units)),
        notes=(),
        footer=f"mandrel {mandrel_id} · records {book_digest[:12]}",
        picture_says="The wear of the old mandrel along it, and how each revision lies over the new line.",
    )  # fmt: skip


def _plating(copy: Copy) -> float:
    plated = [level for one, level in zip(copy.revisions, copy.levels, strict=True) if one.plated]
    return float(np.median(plated)) if plated and not copy.revisions[0].plated else 0.0


def _limits(copy: Copy, units: Units) -> tuple[str, ...]:
    said = []
    if len(copy.revisions) == 1:
        said.append("One revision tells no wear: its line is given as it was measured.")
    if not copy.first_was_measured:
        least = min(one.bells for one in copy.revisions)
        said.append(
            f"Nobody measured it before the first {least} bells: their wear is taken to have gone on as later."
        )
    if copy.revisions[0].plated:
        said.append("It was plated when first measured: the line has that plating on it.")
    if copy.masked.any():
        said.append(
            f"No sound station near {stretches(copy.z, copy.masked, units)}: the line is carried across."
        )
    said.append("Wear that is the same all along cannot be told from a gauge that was set differently.")
    said.append("A scar is told by a station that dips by itself; one between stations is not seen at all.")
    return tuple(said)


def _revisions(copy: Copy, units: Units) -> Sheet:
    table = pd.DataFrame(
        [
            {
                "revision": one.name,
                "bells_before": one.bells,
                "plated": one.plated,
                "over_the_first_mm": level,
            }
            for one, level in zip(copy.revisions, copy.levels, strict=True)
        ]
    )
    note = "How far each lies over the first as a whole: plating, or wear that is the same everywhere."
    return printed(table, "What was measured", note=note, units=units, empty="")


def _line(copy: Copy, units: Units) -> Sheet:
    table = copy_line_table(copy)
    rows = np.unique(np.linspace(0, len(table) - 1, _PRINTED_STATIONS).round().astype(int))
    shown = table.iloc[rows].rename(columns={"error_mm": "known_to_mm"})
    note = f"{lengths_note(units)} Every place is in new_mandrel.csv."
    return printed(shown, "The new line", note=note, units=units, empty="")
