"""Sheets that lie on their steel once they are slid along the axis by more than any hand seats a bell wrongly."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.lengths import in_words
from springfit.records.book import Book
from springfit.records.checks.rough_gaps import SHEET, MandrelProfile, slopes_at_stations

__all__ = ["slid_sheets"]

# A hand seats a bell within 0.8 mm and springback looks like half a millimetre more; on slender flares the estimate of
# a sound sheet is off by as much as 2.7 mm (the demo and the three sample shops).
_SLID_MM = 3.5
_SEATED_MM = 1.0  # what is said of a hand's seat: 0.8 rounded up
_FEWEST = 8  # readings of the sheet; by judgement
_STEEP = 0.3  # sine of the slope somewhere on it, without which a slide shows nowhere; 17 degrees; by judgement
_MOST = 0.75  # of the readings: a tail is nearly straight, and hides what is wrong along the axis
_EXPLAINED = 0.35  # of how far so many lie off at most: what the slide leaves; by judgement
_LEFT_MM = 0.3  # normal, and no more than that; by judgement
_STEP_MM = 0.25  # of the slides tried: half of what springback looks like


def slid_sheets(
    book: Book, readings: pd.DataFrame, of: Mapping[tuple[str, int], MandrelProfile]
) -> list[Finding]:
    """A doubt, setting the bell aside, for each such sheet (`readings` as `rough_gaps` has them)."""
    every, found = list(of.values()), []
    for key, rows in _may_be_slid(readings, every).groupby(SHEET, sort=False):
        slide = _slide(rows, every[int(rows["code"].iloc[0])])
        if slide:
            bell, stage, kind, datum = map(str, key)
            way = "toward the rim" if slide > 0 else "toward the tail"
            found.append(
                book.finding(
                    "doubt", "measurements", rows.index[0], "z_mm", subject=bell, sets_aside=True,
                    what=f"bell {bell!r}, {stage}, {kind} from {datum}: it lies on its steel when moved "
                    f"{in_words(abs(slide), book.units)} {way}",
                    expected=f"a bell seated within {in_words(_SEATED_MM, book.units)}",
                    remedy="was its zero set elsewhere? The bell is set aside until it is corrected",
                )
            )  # fmt: skip
    return found


def _may_be_slid(readings: pd.DataFrame, every: list[MandrelProfile]) -> pd.DataFrame:
    """The readings of sheets that a slide of some size brings nearer, by the slope of gap over sine of all at once."""
    tied = readings[~readings["fitted"] & readings["gap_mm"].notna()]
    sheet = tied.groupby(SHEET, sort=False).ngroup().to_numpy()
    gap, sine = tied["gap_mm"].to_numpy(float), np.sin(slopes_at_stations(tied, every))
    count = np.bincount(sheet)
    from_mean = sine - (np.bincount(sheet, sine) / count)[sheet]
    spread = np.bincount(sheet, from_mean**2)
    slide = np.bincount(sheet, from_mean * gap) / np.where(spread > 0, spread, np.inf)
    # `_slide` decides; a sheet just past its bound by rounding must not be lost here: a hundredth of room.
    return tied[((count >= _FEWEST) & (np.abs(slide) > 0.99 * _SLID_MM))[sheet]]


def _slide(rows: pd.DataFrame, steel: MandrelProfile) -> float:
    """How far [mm] the sheet is to be moved along the axis; 0 where it explains nothing.

    gap = a + slide sin slope at the slope where it lies now, which on a flare is steeper or flatter than where it came
    from: half as much again, or two thirds. So the slide that leaves least is sought up to twice that.
    """
    sine = np.sin(steel.slope_at(rows["station_mm"].to_numpy(float)))
    gap = rows["gap_mm"].to_numpy(float)
    if sine.max() < _STEEP:
        return 0.0
    _, slope = np.linalg.lstsq(np.column_stack([np.ones(len(sine)), sine]), gap, rcond=None)[0]
    if abs(slope) < _SLID_MM:
        return 0.0
    tried = np.sign(slope) * np.arange(_STEP_MM, 2 * abs(slope), _STEP_MM)
    left = [np.abs(_gaps(rows, steel, slide)) for slide in tried.tolist()]
    best = int(np.argmin([float(each.mean()) for each in left]))
    far, still = float(np.quantile(np.abs(gap), _MOST)), float(np.quantile(left[best], _MOST))
    explained = still < min(_EXPLAINED * far, _LEFT_MM)
    return float(tried[best]) if abs(tried[best]) >= _SLID_MM and explained else 0.0


def _gaps(rows: pd.DataFrame, steel: MandrelProfile, slide: float) -> np.ndarray:
    """Normal distances [mm] of the sheet from the steel once it is moved."""
    station, value, crossed = (rows[n].to_numpy(float) for n in ("station_mm", "value_mm", "wall_crossed_mm"))
    return steel.normal_distance(station + slide, value, crossed)
