"""Readings of one ring that differ far more than those of the bell's other rings: one of them is a slip.

A slip at the rim of a wide flare hardly moves a reading off the steel (a diameter 1.5 mm out lies 0.15 mm off at 80
degrees), so neighbours and other bells do not show it; the reading beside it on the same ring does.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.lengths import from_mm, split_unit
from springfit.records.book import Book
from springfit.records.checks.rough_gaps import SHEET
from springfit.records.checks.slips.mistyped import likely_typed
from springfit.records.reading_kinds import DIAMETERS

__all__ = ["OVAL_MM", "odd_on_rings", "ring_slips", "ring_words"]

# As `out_of_round`, whose figures are those of the demo and the three sample shops: no ring there differs by 0.4 mm.
OVAL_MM = 0.5
_OVAL_TIMES = 6.0  # the shop's usual difference, for one whose bells all are somewhat oval
_OVAL_BELL = 0.5  # of the difference, on another ring of the bell: then it is the bell that is oval; by judgement
_FEWEST_RINGS = 2  # others of the bell that say it is round; one may be wrong itself
# Of the farther reading's distance from its neighbours: nearer than that the other one is the good one; by judgement
_SURE = 0.5
_RING = [*SHEET, "gauge_id", "z_mm"]


def ring_slips(book: Book, rows: pd.DataFrame, named: pd.Index) -> list[Finding]:
    """A doubt for the reading of such a ring that its neighbours on the sheet bear out less, or for both.

    rows: as `with_expected` gives them; named: labels of those in doubt already, whose rings are not looked at.
    """
    return [_finding(book, here, row, differ) for here, row, differ in odd_on_rings(rows, named)]


def odd_on_rings(rows: pd.DataFrame, named: pd.Index) -> list[tuple[pd.DataFrame, Any, float]]:
    """Of each such reading: those of its ring, its label and how far they differ [mm]. rows and named: as above; of a
    row `bell_id`, stage, kind, datum, gauge, `z_mm`, `value_mm`, `station_mm` and `level_mm` are looked at."""
    read = rows[rows["kind"].isin(DIAMETERS) & (rows["kind"] != "axial_at_diameter")]
    number = read.groupby(_RING, sort=False).ngroup()
    values = read["value_mm"].groupby(number)
    differ = (values.max() - values.min())[values.size() > 1]
    usual = float(differ[differ > 0].median()) if (differ > 0).any() else 0.0
    bells = read["bell_id"].groupby(number).first()
    found: list[tuple[pd.DataFrame, Any, float]] = []
    for ring in differ.index[differ > max(OVAL_MM, _OVAL_TIMES * usual)]:
        others = differ[bells.reindex(differ.index) == bells[ring]].drop(ring)
        if len(others) < _FEWEST_RINGS or (others > _OVAL_BELL * differ[ring]).any():
            continue
        here = read[number == ring]
        if not here.index.isin(named).any():
            found += [(here, row, float(differ[ring])) for row in _odd(here, read)]
    return found


def ring_words(bell: str, unit: str, typed: float, other: float, differ: float) -> tuple[str, str, str]:
    """What is said of a reading `typed` [mm] in `unit` that differs by so much from the `other` on its ring; what is
    expected; the remedy."""
    said, there = (from_mm(mm, unit) for mm in (typed, other))
    guess = likely_typed(f"{said:.5g}", there, from_mm(OVAL_MM / 2, unit))
    remedy = "the reading is set aside until it is corrected"
    return (
        f"bell {bell!r}: {said:.5g} {unit} differs by {from_mm(differ, unit):.3g} {unit} from "
        f"{there:.5g} {unit} on the same ring; its other rings are round",
        f"about {there:.5g} {unit}, or that one like this",
        f"was it {guess}? {remedy}" if guess else remedy,
    )


def _odd(here: pd.DataFrame, read: pd.DataFrame) -> list[Any]:
    """Labels of the readings of one ring that cannot be told from slips."""
    level = here["level_mm"]
    if len(here) > 2:
        return [(level - level.median()).abs().idxmax()]
    sheet = read[(read[[*SHEET, "gauge_id"]] == here[[*SHEET, "gauge_id"]].iloc[0]).all(axis=1)]
    beside = sheet.drop(here.index).groupby("station_mm")["level_mm"].mean()
    if not len(beside):
        return list(here.index)
    ought = np.interp(float(here["station_mm"].iloc[0]), beside.index.to_numpy(float), beside.to_numpy(float))
    away = (level - ought).abs()
    return list(away.index[away > _SURE * away.max()])


def _finding(book: Book, here: pd.DataFrame, row: Any, differ: float) -> Finding:
    cells: Any = book.measurements.at
    unit = split_unit(book.headers.get((cells[row, "source_file"], "value_mm"), "value_mm"))[1] or "mm"
    value, bell = here["value_mm"], str(here["bell_id"].iloc[0])
    what, expected, remedy = ring_words(bell, unit, float(value[row]), float(value.drop(row).median()), differ)
    return book.finding(
        "doubt", "measurements", row, "value_mm", what=what, expected=expected, remedy=remedy, subject=bell,
        sets_row_aside=True,
    )  # fmt: skip
