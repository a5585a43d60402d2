"""Readings held against one another: what each is away from its neighbours on the sheet and from other bells there.

From each normal distance is taken what the other bells of its steel show at its place, then what is left of its
neighbours on the same sheet; the rest is the reading's own error, or a slip. All of it is arrays: a whole shop is
looked through at once, and one value at the bench in the time of a tap.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from springfit.records.checks.slips.lone_rings import off_alone
from springfit.records.checks.slips.sheet_neighbours import less_neighbours, medians, usual_near

__all__ = ["ComparedReadings", "Expected", "expected"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.integer[Any]]
Flags = NDArray[np.bool_]

# Of station: other bells' readings within it speak of the same place; no flare changes much over it; by judgement
_OTHERS_MM = 4.0
_NEAREST = 20  # readings to either side in station: enough for a median, whatever the size of the shop
_WHOLE_PLACE = 300  # the same where there is time for it: all that lies within reach, in a shop of 20 000 readings
_WORK = 2_000_000  # comparisons of one kind on one steel, to either side; a bound on time
_CHUNK = 2_000  # readings looked at together; a bound on memory
_FEWEST_OTHERS = 3  # readings of other bells that make a median; the median of fewer is one of them
_CHORD_LEFT = 0.15  # of what a straight line between stations leaves out, once other bells are taken off; by judgement
_SAME_PLACE_MM = 3.0  # a ridge of the spinning is some mm wide
_ROUGH = 0.3  # of how far a reading is away: one that is usually as far off is no witness of it; by judgement
_LEAST_AWAY_MM = 0.05  # normal; less is not looked at
# Times the usual, for the last reading of a sheet: nothing beyond it shows which way the bell goes on; by judgement
_END = 2.0
_CLEARANCE_SD_MM = 0.06  # of a feeler: leaves 1 to 2 thou apart, and the hand that judges whether one passes


@dataclass(frozen=True)
class ComparedReadings:
    """Readings ordered by sheet and along each by station, every column an array (n,).

    steel, kind, bell, batch, gauge: numbers that stand for names, -1 for none; sheet: of bell, stage, kind, datum and
    gauge, -1 for readings of no gauge. clearance: the value is a normal distance. station: place along the steel [mm];
    gap: normal distance off it [mm]; slope [rad] and radius [mm] of the steel there; chord: how far it may bend from
    the straight line between its stations [mm]; angle: from the seam [deg]; per_value: mm of normal distance a mm of
    value; repeat, placed: the gauge's standard deviations of a value and of a station [mm]; nan where unknown.
    """

    steel: Numbers
    kind: Numbers
    bell: Numbers
    batch: Numbers
    gauge: Numbers
    sheet: Numbers
    clearance: Flags
    station: Floats
    gap: Floats
    slope: Floats
    radius: Floats
    chord: Floats
    angle: Floats
    per_value: Floats
    repeat: Floats
    placed: Floats


@dataclass(frozen=True)
class Expected:
    """Of each reading: its `level`, the gap less that of other bells there [mm]; how far it is `away` from what is
    expected, normal [mm], nan where nothing can be said; `sd`, what is usual there [mm]; whether another sheet of its
    batch has `borne_out` that it is away, which none can of one that stands alone on its sheet by half a wall."""

    level: Floats
    away: Floats
    sd: Floats
    borne_out: Flags


def expected(rows: ComparedReadings) -> Expected:
    """What the neighbours on its sheet and the other bells of its steel say of each reading."""
    level, compared = _less_others(rows)
    away = less_neighbours(level, rows.station, rows.sheet)
    # The steel is drawn straight between its stations; other bells show what that leaves out.
    chord = rows.chord * np.where(compared, _CHORD_LEFT, 1.0)
    sd = _usual_sd(rows, away, chord)
    off = np.where(rows.clearance, np.nan, off_alone(level, rows.station, rows.sheet, away, sd, rows.radius))
    lone = np.isfinite(off)
    if lone.any():  # what stands beside such a ring is not judged by it
        beside = less_neighbours(np.where(lone, np.inf, level), rows.station, rows.sheet)
        away = np.where(lone, off, beside)
    return Expected(level, away, sd, _borne_out(rows, away, sd) & ~lone)


def _together(*numbers: Numbers) -> Iterator[NDArray[np.intp]]:
    """Rows that have all the numbers in common, each lot in order; rows that lack one (-1) are in none."""
    known = np.flatnonzero(np.all([one >= 0 for one in numbers], axis=0))
    if not len(known):
        return
    joint = np.zeros(len(known), dtype=np.int64)
    for one in numbers:
        joint = joint * (int(one.max()) + 1) + one[known]
    order = np.argsort(joint, kind="stable")
    yield from np.split(known[order], np.flatnonzero(np.diff(joint[order])) + 1)


def _most_within(z: Floats) -> int:
    """How many readings to one side lie within `_OTHERS_MM` of another at most, the stations z [mm] in order."""
    return int((np.searchsorted(z, z + _OTHERS_MM, side="right") - np.arange(len(z)) - 1).max(initial=1))


def _less_others(rows: ComparedReadings) -> tuple[Floats, Flags]:
    """The gap less the median gap of other bells near the same place, read in the same way on the same steel; and
    where there were such. The nearest in station speak for all."""
    gap, station, bell = rows.gap, rows.station, rows.bell
    left, compared = gap.copy(), np.zeros(len(gap), dtype=bool)
    for whole in _together(rows.steel, rows.kind):
        order = whole[np.argsort(station[whole], kind="stable")]
        reach = min(int(np.clip(_WORK // len(order), _NEAREST, _WHOLE_PLACE)), _most_within(station[order]))
        z, y, of = station[order], gap[order], bell[order]
        near_z, near_y, near_of = _windows(z, reach, np.inf), _windows(y, reach, np.inf), _windows(of, reach, -1)
        for begin in range(0, len(order), _CHUNK):
            here = slice(begin, begin + _CHUNK)
            usable = np.abs(near_z[here] - z[here, None]) <= _OTHERS_MM
            usable &= near_of[here] != of[here, None]  # not the reading itself either
            enough = np.flatnonzero(usable.sum(axis=1) >= _FEWEST_OTHERS)
            at = order[here][enough]
            left[at] -= medians(np.where(usable[enough], near_y[here][enough], np.inf))
            compared[at] = True
    return left, compared


def _windows(values: NDArray[Any], reach: int, beyond: float) -> NDArray[Any]:
    """Row n: the values from `reach` before the n-th to `reach` after it, `beyond` past either end."""
    padded = np.pad(values, reach, constant_values=beyond)
    return np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)


def _usual_sd(rows: ComparedReadings, away: Floats, chord: Floats) -> Floats:
    """How far readings of that kind, on that steel and near that place are usually away, normal [mm]."""
    # A ring put a little further on is larger by twice the slope; a clearance hardly changes along the steel.
    sine = np.where(rows.clearance, 0.0, np.sin(np.abs(rows.slope)))
    usual = np.zeros(len(away))
    for at in _together(rows.steel, rows.kind, rows.gauge):
        at = at[np.isfinite(away[at])]
        usual[at] = usual_near(away[at], rows.station[at])
    gauge = np.nan_to_num(np.sqrt((rows.repeat * rows.per_value) ** 2 + (rows.placed * sine) ** 2 + chord**2))
    floor = np.where(rows.clearance, _CLEARANCE_SD_MM, gauge)
    begins = np.append(True, rows.sheet[1:] != rows.sheet[:-1])[: len(away)]
    end = begins | np.append(begins[1:], True)[: len(away)]
    return np.maximum(usual, floor) * np.where(end, _END, 1.0)


def _borne_out(rows: ComparedReadings, away: Floats, sd: Floats) -> Flags:
    """Whether another sheet of the batch is away to the same side, by half as much or more, at the same place.

    A clearance is the gap itself: a sheet that is usually about as far off there is no witness of it.
    """
    roughest = np.where(rows.clearance, _ROUGH * np.abs(away), np.inf)
    found = np.zeros(len(away), dtype=bool)
    for at in _together(rows.batch, rows.steel):
        order, begin, end = _near(rows.station, at[np.isfinite(away[at])], _SAME_PLACE_MM)
        y, rough, of = away[order], sd[order], rows.sheet[order]
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
