"""What a reader has to know of a facet besides its sizes, in the shop's unit."""

from __future__ import annotations

import math

import pandas as pd

from springfit.lengths import MM_PER_UNIT
from springfit.reporting.wording.length_wording import Units

__all__ = ["facets_with_notes", "usual_spacing"]

_INCH_SPACINGS = {"1/2 in": 0.5, "1/4 in": 0.25, "1/8 in": 0.125, "1/16 in": 0.0625}  # usual ones [in]
_FACTS = ["mandrel_needs_mm", "target_needs_mm", "washes_out"]  # what the note says in words


def facets_with_notes(facets: pd.DataFrame, units: Units) -> pd.DataFrame:
    """The facets with a column `note` in place of the facts it is made of; without columns, as it is."""
    if not len(facets.columns):
        return facets
    notes = [_note(row, units) for _, row in facets.iterrows()]
    return facets.drop(columns=_FACTS).assign(note=pd.Series(notes, index=facets.index, dtype=object))


def _note(facet: pd.Series, units: Units) -> str:
    words = []
    for where in ("mandrel", "target"):
        needed = float(facet[f"{where}_needs_mm"])
        if math.isfinite(needed):
            spacing = usual_spacing(needed, units)
            words.append(f"stations of the {where} too sparse to tell a depth: measure every {spacing}")
    if not words and not math.isfinite(float(facet["kept_share"])):
        words.append("not whole on the trimmed bell")
    if facet["washes_out"]:
        words.append("washes out on the bell: no depth of cut makes it")
    if facet["on"] == "mandrel" and not words:
        words.append("not wanted")
    return "; ".join(words)


def usual_spacing(widest_mm: float, units: Units) -> str:
    """The usual spacing of stations that is no wider than `widest_mm`, in the shop's unit."""
    if units == "in":
        fitting = (word for word, inch in _INCH_SPACINGS.items() if inch * MM_PER_UNIT["in"] <= widest_mm)
        return next(fitting, "1/16 in")
    return f"{max(math.floor(2 * widest_mm) / 2, 0.5):g} mm"
