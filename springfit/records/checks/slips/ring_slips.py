"""Readings of one ring that differ far more than those of the bell's other rings: one of them is a slip.

A slip at the rim of a wide flare hardly moves a reading off the steel (a diameter 1.5 mm out lies 0.15 mm off at 80
degrees), so neighbours and other bells do not show it; the reading beside it on the same ring does. Where angles are
noted, the rings beside it show how oval the bell is, and a slip of a few tenths is told.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.lengths import from_mm, split_unit
from springfit.records.book import Book
from springfit.records.checks.others_median import others_median
from springfit.records.checks.rough_gaps import SHEET
from springfit.records.checks.slips.mistyped import likely_typed
from springfit.records.checks.slips.ring_angles import LEAST_OFF_MM, by_placing, off_by_angle
from springfit.records.reading_kinds import DIAMETERS

__all__ = ["OddOnRing", "odd_on_rings", "ring_slips", "ring_words"]

# As `out_of_round`, whose figures are those of the demo and the three sample shops: no ring there differs by 0.4 mm.
_OVAL_MM = 0.5
_OVAL_TIMES = 6.0  # the shop's usual difference, for one whose bells all are somewhat oval
_OVAL_BELL = 0.5  # of the difference, on another ring of the bell: then it is the bell that is oval; by judgement
_FEWEST_RINGS = 2  # others of the bell that say it is round; one may be wrong itself
# Of the farther reading's distance from its neighbours: nearer than that the other one is the good one; by judgement.
# And twenty times as likely, as a station is set there: both share its error, which may take off what the slip put on.
_SURE, _LIKELIER = 0.5, float(np.log(20.0))
_LIKELY = 0.5  # of how far it is off: a correction that leaves less is a likely one; by judgement
_RING = [*SHEET, "gauge_id", "z_mm"]


@dataclass(frozen=True)
class OddOnRing:
    """A reading (`row`: its label) that stands alone on its ring, the rows that are `here` on it, by how much they
    `differ` and how far the reading is `off` what it ought to be [mm]."""

    row: Any
    here: pd.DataFrame
    differ: float
    off: float


def ring_slips(book: Book, rows: pd.DataFrame, named: pd.Index) -> list[Finding]:
    """A doubt for the reading of such a ring that its neighbours on the sheet bear out less, or for both.

    rows: as `with_expected` gives them; named: labels of those in doubt already, whose rings are not looked at.
    """
    return [_finding(book, odd) for odd in odd_on_rings(rows, named)]


def odd_on_rings(rows: pd.DataFrame, named: pd.Index) -> list[OddOnRing]:
    """Each such reading. rows and named: as above; of a row `code` (of its steel), `bell_id`, stage, kind, datum,
    gauge, `z_mm`, `angle_deg`, `value_mm`, `station_mm`, `slope`, `level_mm` and `sd_mm` are looked at."""
    read = rows[rows["kind"].isin(DIAMETERS) & (rows["kind"] != "axial_at_diameter")]
    number = read.groupby(_RING, sort=False).ngroup()
    values = read["value_mm"].groupby(number)
    differ = (values.max() - values.min())[values.size() > 1]
    # A ring in doubt already is no witness of those beside it either.
    off = off_by_angle(read, number.mask(number.isin(number[number.index.isin(named)])))
    by_angle = off.abs().groupby(number).max().reindex(differ.index) > 0
    found: list[OddOnRing] = []
    for ring in differ.index[_out_of_round(read, number, differ) | (by_angle & (differ > LEAST_OFF_MM))]:
        here = read[number == ring]
        if not here.index.isin(named).any():
            away = off[here.index] if by_angle[ring] else _off_others(here["value_mm"])
            odd = _odd(here, away, read)
            found += [OddOnRing(row, here, float(differ[ring]), float(away[row])) for row in odd]
    return found


def ring_words(bell: str, unit: str, typed: float, other: float, odd: OddOnRing) -> tuple[str, str, str]:
    """What is said of an `odd` reading `typed` [mm] in `unit`, with the `other` on its ring; what is expected; the
    remedy."""
    said, there, meant = (from_mm(mm, unit) for mm in (typed, other, typed - odd.off))
    guess = likely_typed(f"{said:.5g}", meant, from_mm(_LIKELY * abs(odd.off), unit))
    remedy = "the reading is set aside until it is corrected"
    return (
        f"bell {bell!r}: {said:.5g} {unit} differs by {from_mm(odd.differ, unit):.3g} {unit} from "
        f"{there:.5g} {unit} on the same ring, as on its other rings none do",
        f"about {meant:.5g} {unit}, or that one like this",
        f"was it {guess}? {remedy}" if guess else remedy,
    )


def _out_of_round(read: pd.DataFrame, number: pd.Series, differ: pd.Series) -> pd.Series:
    """Of each ring whether its readings `differ` far more than the shop's, and than the bell's other rings do."""
    usual = float(differ[differ > 0].median()) if (differ > 0).any() else 0.0
    bells, slope = (read[name].groupby(number).first().reindex(differ.index) for name in ("bell_id", "slope"))
    placed = np.nan_to_num(by_placing(differ.to_numpy(float), slope.to_numpy(float)))
    odd = pd.Series(data=False, index=differ.index)
    for ring in differ.index[differ > np.maximum(_OVAL_MM, _OVAL_TIMES * np.maximum(usual, placed))]:
        others = differ[bells == bells[ring]].drop(ring)
        odd[ring] = len(others) >= _FEWEST_RINGS and not (others > _OVAL_BELL * differ[ring]).any()
    return odd


def _off_others(value: pd.Series) -> pd.Series:
    """How far each reading of a ring is off the median of the others [mm]."""
    return value - others_median(value.to_numpy(float))


def _odd(here: pd.DataFrame, off: pd.Series, read: pd.DataFrame) -> list[Any]:
    """Labels of the readings of one ring that cannot be told from slips; off: as far as each is off the others."""
    level = here["level_mm"]
    if len(here) > 2:
        return [off.abs().idxmax()]
    sheet = read[(read[[*SHEET, "gauge_id"]] == here[[*SHEET, "gauge_id"]].iloc[0]).all(axis=1)]
    beside = sheet.drop(here.index).groupby("station_mm")["level_mm"].mean()
    if not len(beside):
        return list(here.index)
    ought = np.interp(float(here["station_mm"].iloc[0]), beside.index.to_numpy(float), beside.to_numpy(float))
    away = (level - ought).abs()
    likelier = (away.max() ** 2 - away**2) / (2 * here["sd_mm"].max() ** 2)
    return list(away.index[(away > _SURE * away.max()) | (likelier < _LIKELIER)])


def _finding(book: Book, odd: OddOnRing) -> Finding:
    cells: Any = book.measurements.at
    unit = split_unit(book.headers.get((cells[odd.row, "source_file"], "value_mm"), "value_mm"))[1] or "mm"
    value, bell = odd.here["value_mm"], str(odd.here["bell_id"].iloc[0])
    other = float(value.drop(odd.row).median())
    what, expected, remedy = ring_words(bell, unit, float(value[odd.row]), other, odd)
    return book.finding(
        "doubt", "measurements", odd.row, "value_mm", what=what, expected=expected, remedy=remedy, subject=bell,
        sets_row_aside=True,
    )  # fmt: skip
