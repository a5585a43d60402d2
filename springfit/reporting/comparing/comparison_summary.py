"""The summary of conditions compared, as the prediction page prints it, and the table of differences."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import pandas as pd

from springfit.reporting.comparing.difference_wording import difference_words, zone_differences
from springfit.reporting.pages.prediction_summary import ComparisonSummary
from springfit.reporting.pages.printed_tables import Sheet, in_small_unit, printed
from springfit.reporting.wording.column_labels import lengths_note
from springfit.reporting.wording.length_wording import Units, small_unit
from springfit.reporting.wording.verdict_wording import unbroken

if TYPE_CHECKING:
    from springfit.decisions.compared_conditions import Difference

__all__ = ["differences_table", "summarise_comparison"]


def differences_table(differences: Sequence[Difference]) -> pd.DataFrame:
    """One row a difference and station, tail to rim: the difference to the first conditions and its 90 % band."""
    return pd.concat([one.to_frame() for one in differences], ignore_index=True)


def summarise_comparison(differences: Sequence[Difference], *, units: Units) -> ComparisonSummary:
    """The printed summary of differences to one and the same first conditions."""
    return ComparisonSummary(
        title=f"Compared with {differences[0].against}",
        lines=tuple(unbroken(difference_words(one, units)) for one in differences),
        note=(
            "Differences are of the mean of a batch, per side: at the very rim, and in the other zones where they are "
            "largest; in brackets, what nine in ten lie between. What both ways have in common cancels, so a "
            "difference is better known than either bell; sheet of one alloy, temper, lot and wall is taken for one "
            "sheet spun both ways."
        ),
        table=_zone_table(differences, units),
    )


def _zone_table(differences: Sequence[Difference], units: Units) -> Sheet:
    rows = [
        {
            "conditions": one.name, "zone": zone.zone, "z_mm": zone.z_mm, "difference_mm": zone.difference_mm,
            "difference_lo_mm": zone.low_mm, "difference_hi_mm": zone.high_mm,
        }
        for one in differences
        for zone in zone_differences(one)
    ]  # fmt: skip
    note = f"{lengths_note(units)} Differences in {small_unit(units)} per side, + larger. All are in differences.csv."
    shown = in_small_unit(pd.DataFrame(rows), ["difference_mm", "difference_lo_mm", "difference_hi_mm"], units)
    return printed(shown, "Differences by zone", note=note, units=units, empty="")
