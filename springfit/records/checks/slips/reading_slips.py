"""Readings that neither their neighbours nor the other bells bear out, each named by its row and alone set aside."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.findings import Finding
from springfit.lengths import from_mm, split_unit
from springfit.records.book import Book
from springfit.records.checks.rough_gaps import MandrelProfile
from springfit.records.checks.slips.expected_readings import with_expected
from springfit.records.checks.slips.mistyped import likely_typed
from springfit.records.checks.slips.ring_slips import ring_slips

__all__ = ["SlipWords", "is_slip", "reading_slips", "slip_words"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Looked at on the demo and the three sample shops (57 000 sound readings): so far away, with no other sheet of the
# batch away like it, are at most 1 in 8 000 of a shop.
_TIMES = 4.5
_LEAST_MM = 0.1  # normal, per side: what a diameter is off by is twice that on a tube
_LEAST_SINE = 0.05  # guards against division by nought: straighter than 3 degrees, a ring tells nothing by its place
_LIKELY = 3.0  # times the usual: a correction that near is a likely one; by judgement


@dataclass(frozen=True)
class SlipWords:
    """What is said of a reading that is no other's: the `column` it stands in, and the words of the doubt."""

    column: str
    what: str
    expected: str
    remedy: str


def reading_slips(
    book: Book, readings: pd.DataFrame, of: Mapping[tuple[str, int], MandrelProfile]
) -> list[Finding]:
    """A doubt for each such reading among diameters (as `rough_gaps` has them) and clearances; only it is set aside."""
    rows = with_expected(book, readings, of)
    odd = rows[is_slip(*(rows[name].to_numpy() for name in ("away_mm", "sd_mm", "borne_out")))]
    return [*(_finding(book, row, odd.loc[row]) for row in odd.index), *ring_slips(book, rows, odd.index)]


def is_slip(away: Floats, sd: Floats, borne_out: Flags) -> Flags:
    """Whether readings `away` [mm] where `sd` [mm] is usual are slips, unless another sheet has borne them out."""
    far = np.abs(away)
    return (far > _LEAST_MM) & (far > _TIMES * sd) & ~borne_out


def slip_words(
    bell: str, kind: str, unit: str, typed: float, *, away: float, sd: float, slope: float, per_value: float
) -> SlipWords:
    """What is said of a slip `typed` [mm] in `unit`, which lies `away` [mm] normal where `sd` is usual, on steel of
    `slope` [rad], `per_value` mm of it a mm of value: what it would be, and what may have been meant."""
    moved = kind == "axial_at_diameter"
    # A ring that comes to rest further on by d lies nearer the axis by d sin(slope).
    per = -max(float(np.sin(slope)), _LEAST_SINE) if moved else per_value
    shown, meant = f"{from_mm(typed, unit):.5g}", from_mm(typed - away / per, unit)
    guess = likely_typed(shown, meant, _LIKELY * from_mm(sd / abs(per), unit))
    remedy = "this reading alone is set aside until it is corrected"
    return SlipWords(
        "z_mm" if moved else "value_mm",
        f"bell {bell!r}: {shown} {unit} is borne out neither by its neighbours nor by other bells",
        f"about {meant:.4g} {unit}",
        f"was it {guess}? {remedy}" if guess else remedy,
    )


def _finding(book: Book, row: Any, odd: pd.Series) -> Finding:
    """The doubt about one reading, with what it would be and what may have been meant."""
    column = "z_mm" if odd["kind"] == "axial_at_diameter" else "value_mm"
    cells: Any = book.measurements.at
    header = book.headers.get((cells[row, "source_file"], column), column)
    said = slip_words(
        odd["bell_id"], odd["kind"], split_unit(header)[1] or "mm", float(cells[row, column]),
        away=float(odd["away_mm"]), sd=float(odd["sd_mm"]), slope=float(odd["slope"]),
        per_value=float(odd["per_value"]),
    )  # fmt: skip
    return book.finding(
        "doubt", "measurements", row, column, what=said.what, expected=said.expected, remedy=said.remedy,
        subject=str(odd["bell_id"]), sets_row_aside=True,
    )  # fmt: skip
