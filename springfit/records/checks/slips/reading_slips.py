"""Readings that neither their neighbours nor the other bells bear out, each named by its row and alone set aside."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.lengths import from_mm, split_unit
from springfit.records.book import Book
from springfit.records.checks.rough_gaps import MandrelProfile
from springfit.records.checks.slips.expected_readings import with_expected
from springfit.records.checks.slips.mistyped import likely_typed
from springfit.records.checks.slips.ring_slips import ring_slips

__all__ = ["reading_slips"]

# Looked at on the demo and the three sample shops (57 000 sound readings): so far away, with no other sheet of the
# batch away like it, are at most 1 in 8 000 of a shop.
_TIMES = 4.5
_LEAST_MM = 0.1  # normal, per side: what a diameter is off by is twice that on a tube
_LIKELY = 3.0  # times the usual: a correction that near is a likely one


def reading_slips(
    book: Book, readings: pd.DataFrame, of: Mapping[tuple[str, int], MandrelProfile]
) -> list[Finding]:
    """A doubt for each such reading among diameters (as `rough_gaps` has them) and clearances; only it is set aside."""
    rows = with_expected(book, readings, of)
    away = rows["away_mm"].abs()
    odd = rows[(away > _LEAST_MM) & (away > _TIMES * rows["sd_mm"]) & ~rows["borne_out"]]
    return [*(_finding(book, row, odd.loc[row]) for row in odd.index), *ring_slips(book, rows, odd.index)]


def _finding(book: Book, row: Any, odd: pd.Series) -> Finding:
    """The doubt about one reading, with what it would be and what may have been meant."""
    moved = odd["kind"] == "axial_at_diameter"
    column = "z_mm" if moved else "value_mm"
    cells: Any = book.measurements.at
    header = book.headers.get((cells[row, "source_file"], column), column)
    unit = split_unit(header)[1] or "mm"
    typed = float(cells[row, column])
    # A ring that comes to rest further on by d lies nearer the axis by d sin(slope).
    per = -max(float(np.sin(odd["slope"])), 0.05) if moved else float(odd["per_value"])
    expected = typed - float(odd["away_mm"]) / per
    shown, meant = f"{from_mm(typed, unit):.5g}", from_mm(expected, unit)
    guess = likely_typed(shown, meant, _LIKELY * from_mm(float(odd["sd_mm"]) / abs(per), unit))
    remedy = "this reading alone is set aside until it is corrected"
    return book.finding(
        "doubt",
        "measurements",
        row,
        column,
        what=f"bell {odd['bell_id']!r}: {shown} {unit} is borne out neither by its neighbours nor by other bells",
        expected=f"about {meant:.4g} {unit}",
        remedy=f"was it {guess}? {remedy}" if guess else remedy,
        subject=str(odd["bell_id"]),
        sets_row_aside=True,
    )
