"""What each reading would be by its neighbours on the sheet and by the other bells of the same steel.

Readings are compared as normal distances from the steel. From each is taken what the other bells of its steel show at
its place, then what is left of its neighbours on the same sheet; the rest is the reading's own error, or a slip.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.records.book import Book
from springfit.records.checks.rough_gaps import SHEET, MandrelProfile
from springfit.records.rules.revisions import bells_on_steel

__all__ = ["with_expected"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.integer[Any]]

_NEIGHBOURS = 2  # readings to either side on the sheet: their median is not moved by one more slip
_OTHERS_MM = 4.0  # of station: other bells' readings within it speak of the same place
_NEAREST = 20  # readings to either side in station: enough for a median, whatever the size of the shop
_WHOLE_PLACE = (
    300  # the same where there is time for it: all that lies within reach, in a shop of 20 000 readings
)
_WORK = 2_000_000  # comparisons of one kind on one steel, to either side
_CHUNK = 2_000  # readings looked at together
_FEWEST_OTHERS = 3  # readings of other bells that make a median
_PLACE = 31  # readings nearest along the steel whose median says what is usual there
_SD_OF_MEDIAN = 1.483  # standard deviation of a normal distribution over the median of its absolute values
_CHORD_LEFT = 0.15  # of what a straight line between stations leaves out, once other bells are taken off
_SAME_PLACE_MM = 3.0  # a ridge of the spinning is some mm wide
_ROUGH = 0.3  # of how far a reading is away: one that is usually as far off is no witness of it
_LEAST_AWAY_MM = 0.05  # normal; less is not looked at
_END = 2.0  # times the usual, for the last reading of a sheet: nothing beyond it shows which way the bell goes on
_CLEARANCE_SD_MM = 0.06  # of a feeler: leaves 1 to 2 thou apart, and the hand that judges whether one passes
_FEWEST_ON_SHEET = 4  # readings of a sheet that can say anything of one of them


def with_expected(
    book: Book, readings: pd.DataFrame, of: Mapping[tuple[str, int], MandrelProfile]
) -> pd.DataFrame:
    """Diameters (as `rough_gaps` has them) and clearances, ordered by sheet and station, with `away_mm` (normal, how
    far from what is expected), `sd_mm` (usual there), `borne_out` (another sheet shows the same) and `per_value` (mm of
    normal distance a mm of value)."""
    # A sheet without a station was slid to its best fit: where its readings lie is not known well enough to judge one.
    tied = readings[~readings["fitted"]]
    both = pd.concat([tied, _clearances(book, of)]) if (book.measurements["kind"] == "clearance").any() else tied
    known = both[both["gap_mm"].notna() & both["station_mm"].notna()]
    rows = known.sort_values([*SHEET, "gauge_id", "station_mm"], kind="stable")
    sheet = rows.groupby([*SHEET, "gauge_id"], sort=False).ngroup().to_numpy()
    every = list(of.values())
    slope = np.zeros(len(rows))
    for code, steel in enumerate(every):
        at = np.flatnonzero(rows["code"] == code)
        slope[at] = steel.slope_at(rows["station_mm"].to_numpy(float)[at])
    rows["slope"] = slope
    clearance = (rows["kind"] == "clearance").to_numpy()
    rows["per_value"] = np.where(clearance, 1.0, np.cos(slope) / 2)
    rows["level_mm"], compared = _less_others(rows)
    # The steel is drawn straight between its stations; other bells show what that leaves out.
    rows["chord_mm"] = _chords(rows, every) * np.where(compared, _CHORD_LEFT, 1.0)
    rows["away_mm"] = _less_neighbours(rows, sheet)
    batch = dict(zip(book.bells["bell_id"], book.bells["batch_id"], strict=True))
    rows["batch_id"] = rows["bell_id"].map(batch)
    rows["sd_mm"] = _usual_sd(book, rows, sheet)
    rows["borne_out"] = _borne_out(rows, sheet)
    return rows


def _clearances(book: Book, of: Mapping[tuple[str, int], MandrelProfile]) -> pd.DataFrame:
    """The clearances, in the columns of `rough_gaps`: they are normal distances already."""
    columns = [*SHEET, "z_mm", "value_mm", "angle_deg", "gauge_id", "source_file"]
    readings = book.measurements.loc[book.measurements["kind"] == "clearance", columns].copy()
    bells = bells_on_steel(book.batches, book.bells)
    number = {key: code for code, key in enumerate(of)}
    codes = {
        bell: number[mandrel, int(revision)]
        for bell, mandrel, revision in zip(bells.index, bells["mandrel_id"], bells["revision"], strict=True)
    }
    readings["code"] = readings["bell_id"].map(codes)
    tied = readings["datum"].isin(("tail", "witness"))
    readings["station_mm"] = readings["z_mm"].where(tied)
    readings["gap_mm"] = readings["value_mm"]
    return readings


def _usual_sd(book: Book, rows: pd.DataFrame, sheet: Numbers) -> Floats:
    """How far readings of that kind, on that steel and near that place are usually away, normal [mm]."""
    gauges = book.gauges.set_index("gauge_id")
    repeat = rows["gauge_id"].map(gauges["repeatability_mm"]).to_numpy(float) * rows["per_value"].to_numpy(
        float
    )
    # A ring put a little further on is larger by twice the slope; a clearance hardly changes along the steel.
    sine = np.where(rows["kind"] == "clearance", 0.0, np.sin(np.abs(rows["slope"].to_numpy(float))))
    placed = rows["gauge_id"].map(gauges["station_mm"]).to_numpy(float) * sine
    away, station = rows["away_mm"].to_numpy(float), rows["station_mm"].to_numpy(float)
    usual = np.zeros(len(rows))
    for at in rows.groupby(["code", "kind", "gauge_id"], sort=False).indices.values():
        at = at[np.isfinite(away[at])]
        if len(at):
            order = at[np.argsort(station[at], kind="stable")]
            of_place = (
                pd.Series(np.abs(away[order])).rolling(_PLACE, center=True, min_periods=_PLACE // 3).median()
            )
            whole = float(np.median(np.abs(away[at])))
            usual[order] = np.fmax(of_place.to_numpy(float), whole / 2)
    chord = rows["chord_mm"].to_numpy(float)
    gauge = np.nan_to_num(np.sqrt(repeat**2 + placed**2 + chord**2))
    floor = np.where(rows["kind"] == "clearance", _CLEARANCE_SD_MM, gauge)
    begins = np.concatenate([[True], sheet[1:] != sheet[:-1]]) if len(sheet) else np.zeros(0, dtype=bool)
    end = begins | np.append(begins[1:], True)[: len(sheet)]
    return np.maximum(usual * _SD_OF_MEDIAN, floor) * np.where(end, _END, 1.0)


def _chords(rows: pd.DataFrame, every: list[MandrelProfile]) -> Floats:
    """How far the steel may bend from the straight line between its stations there, normal [mm]: h^2 r'' / 8."""
    chord = np.zeros(len(rows))
    for code, steel in enumerate(every):
        at = np.flatnonzero(rows["code"] == code)
        bend = np.abs(np.gradient(np.gradient(steel.diameter / 2, steel.z), steel.z)) * np.cos(steel.slope)
        size = bend * np.gradient(steel.z) ** 2 / 8
        chord[at] = np.interp(rows["station_mm"].to_numpy(float)[at], steel.z, size)
    return chord


def _less_others(rows: pd.DataFrame) -> tuple[Floats, NDArray[np.bool_]]:
    """The gap less the median gap of other bells near the same place, read in the same way on the same steel; and
    where there were such. The nearest in station speak for all."""
    gap, station = rows["gap_mm"].to_numpy(float), rows["station_mm"].to_numpy(float)
    left, bell = gap.copy(), pd.factorize(rows["bell_id"])[0]
    compared = np.zeros(len(rows), dtype=bool)
    for whole in rows.groupby(["code", "kind"], sort=False).indices.values():
        order = np.asarray(whole)[np.argsort(station[whole], kind="stable")]
        reach = min(int(np.clip(_WORK // len(order), _NEAREST, _WHOLE_PLACE)), _most_within(station[order]))
        z, y, of = station[order], gap[order], bell[order]
        near_z, near_y, near_of = _windows(z, reach, np.inf), _windows(y, reach, np.inf), _windows(of, reach, -1)
        for begin in range(0, len(order), _CHUNK):
            here = slice(begin, begin + _CHUNK)
            usable = np.abs(near_z[here] - z[here, None]) <= _OTHERS_MM
            usable &= near_of[here] != of[here, None]  # not the reading itself either
            enough = np.flatnonzero(usable.sum(axis=1) >= _FEWEST_OTHERS)
            at = order[here][enough]
            left[at] -= _medians(np.where(usable[enough], near_y[here][enough], np.inf))
            compared[at] = True
    return left, compared


def _windows(values: NDArray[Any], reach: int, beyond: float) -> NDArray[Any]:
    """Row n: the values from `reach` before the n-th to `reach` after it, `beyond` past either end."""
    padded = np.pad(values, reach, constant_values=beyond)
    return np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)


def _most_within(z: Floats) -> int:
    """How many readings to one side lie within `_OTHERS_MM` of another at most, the stations z [mm] in order."""
    return int((np.searchsorted(z, z + _OTHERS_MM, side="right") - np.arange(len(z)) - 1).max(initial=1))


def _medians(values: Floats) -> Floats:
    """Median of each row's finite values; NaN where there are none."""
    ordered = np.sort(values, axis=1)
    count = np.isfinite(ordered).sum(axis=1)
    row = np.arange(len(ordered))
    middle = (
        ordered[row, np.maximum(count - 1, 0) // 2]
        + ordered[row, np.minimum(count // 2, values.shape[1] - 1)]
    ) / 2
    return np.where(count > 0, middle, np.nan)


def _borne_out(rows: pd.DataFrame, sheet: Numbers) -> NDArray[np.bool_]:
    """Whether another sheet of the batch is away to the same side, by half as much or more, at the same place.

    A clearance is the gap itself: a sheet that is usually about as far off there is no witness of it.
    """
    away, station = rows["away_mm"].to_numpy(float), rows["station_mm"].to_numpy(float)
    found = np.zeros(len(rows), dtype=bool)
    clearance = (rows["kind"] == "clearance").to_numpy()
    roughest = np.where(clearance, _ROUGH * np.abs(away), np.inf)
    sd = rows["sd_mm"].to_numpy(float)
    for at in rows.groupby(["batch_id", "code"], sort=False).indices.values():
        order, begin, end = _near(station, at[np.isfinite(away[at])], _SAME_PLACE_MM)
        y, rough, of = away[order], sd[order], sheet[order]
        for n in np.flatnonzero(np.abs(y) > _LEAST_AWAY_MM).tolist():
            near = slice(begin[n], end[n])
            bears = (of[near] != of[n]) & (y[near] * np.sign(y[n]) >= abs(y[n]) / 2)
            found[order[n]] = bool(np.any(bears & (rough[near] < roughest[order[n]])))
    return found


def _near(station: Floats, at: Any, reach: float) -> tuple[NDArray[np.intp], ...]:
    """Rows `at` by station, and of each the first and last of them within `reach` [mm]."""
    order = at[np.argsort(station[at], kind="stable")]
    z = station[order]
    return order, np.searchsorted(z, z - reach), np.searchsorted(z, z + reach, side="right")


def _less_neighbours(rows: pd.DataFrame, number: Numbers) -> Floats:
    """`level_mm` less what its neighbours on the sheet have, itself left out; NaN where there are too few.

    Of their median and the line through the two next to it the one that bears it out better; nothing where they differ
    in sign.
    """
    level, station = rows["level_mm"].to_numpy(float), rows["station_mm"].to_numpy(float)
    size = np.bincount(number + 1, minlength=1)[number + 1]  # -1: readings of no gauge
    place = np.arange(len(rows))
    beside = []
    for step in (n for n in range(-_NEIGHBOURS, _NEIGHBOURS + 1) if n):
        other = np.clip(place + step, 0, len(rows) - 1)
        same = (number[other] == number) & (other == place + step)
        beside.append(np.where(same, level[other], np.inf))
    away = np.where(size >= _FEWEST_ON_SHEET, level - _medians(np.column_stack(beside)), np.nan)
    before, after = np.clip(place - 1, 0, None), np.clip(place + 1, None, len(rows) - 1)
    inside = (number[before] == number) & (number[after] == number) & (before < place) & (place < after)
    inside &= station[before] < station[after]
    width = np.where(inside, station[after] - station[before], 1.0)
    share = (station - station[before]) / width
    by_line = level - (1 - share) * level[before] - share * level[after]
    better = np.where(away * by_line > 0, np.where(np.abs(by_line) < np.abs(away), by_line, away), 0.0)
    return np.where(inside & np.isfinite(away), better, away)
