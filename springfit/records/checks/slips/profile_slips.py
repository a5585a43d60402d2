"""Sizes of a mandrel or a target that the stations around them do not bear out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.flag_runs import runs_of_true

__all__ = ["ProfileSlip", "dragged_rows", "profile_slips", "repeated_sizes", "swapped_sizes"]

Floats = NDArray[np.float64]

_TO_EACH_SIDE = 2  # stations whose cubic says what the one between them is
_AROUND = 7  # stations to either side that show how well that goes here; by judgement
# Of the median error around it. Looked at on the demo and the sample shops' mandrels and targets: the most there is 4,
# at a join of two arcs.
_TIMES = 7.0
# Normal, per side: steel is cut from 0.025 mm on, and twice that spoils a cut; lathe and caliper err by 0.01 to 0.02,
# and where they err by more `_TIMES` of it decides.
_LEAST_MM = 0.05
# Of their distance from the curve: what is left of two neighbours' once they change places; by judgement
_SWAPPED = 0.2
_SAME_SHARE = 0.05  # of the steps before and after: a step so small between two larger ones is none; by judgement
_LEAST_STEP_MM = 0.05  # of diameter: smaller steps are those of a cylinder, and of how sizes are written; two thou
_SAME_MM = 1e-6  # a nanometre, rounding of a conversion: the same as written
_FEWEST_REPEATED, _FEWEST_STEPS = 2, 3  # steps in a run; one alone is a row typed twice, two stations may lie so
# Of the pace before the run, that the shape has over the run and the step behind it; and of the pace further on, that
# this step has: behind a band that is a cylinder the shape goes on at the pace it has; by judgement
_CAUGHT_UP, _TOO_FAST = 0.6, 1.3
_FLOOR_MM = 0.008  # normal: sizes are written to 0.01 or 0.02 mm (a thou)


@dataclass(frozen=True)
class ProfileSlip:
    """Row `place` of a profile: its diameter is `away_mm` from the `expected_mm` that its neighbours give."""

    place: int
    away_mm: float
    expected_mm: float


def profile_slips(z: Floats, diameter: Floats, before: Floats | None = None) -> list[ProfileSlip]:
    """The sizes that stand out, worst first, each judged with those before it taken out.

    `before`: the diameters [mm] that the steel had at these stations, NaN where not known: then the change is judged,
    which is smoother than the curve.
    """
    judged = diameter - np.where(np.isfinite(before), before, np.nan) if before is not None else diameter
    known = np.flatnonzero(np.isfinite(judged))
    found: list[ProfileSlip] = []
    slope = np.gradient(diameter / 2, z) if len(z) > 1 else np.zeros(len(z))
    cosine = np.cos(np.arctan(slope))
    while len(known) > 2 * _TO_EACH_SIDE + 2 and len(found) < len(z) // 8 + 1:
        expected, unsure = _by_neighbours(z[known], judged[known])
        away = (judged[known] - expected) / 2 * cosine[known]
        usual = _usual(away) + unsure / 2 * cosine[known]
        score = np.where(np.nan_to_num(np.abs(away)) > _LEAST_MM, np.abs(away) / usual, 0.0)
        worst = int(np.argmax(score))
        if score[worst] <= _TIMES:
            break
        place = int(known[worst])
        shift = float(judged[place] - expected[worst])
        found.append(ProfileSlip(place, shift, float(diameter[place]) - shift))
        known = np.delete(known, worst)
    return found


def repeated_sizes(z: Floats, diameter: Floats) -> list[int]:
    """Rows whose size is that of the row above while the shape goes on: what a row typed twice leaves, and all sizes
    after it stand a row too low."""
    steps = np.diff(diameter)
    before, here, after = steps[:-2], np.abs(steps[1:-1]), steps[2:]
    goes_on = np.minimum(np.abs(before), np.abs(after)) * (before * after > 0)
    return [int(n) + 2 for n in np.flatnonzero((goes_on > _LEAST_STEP_MM) & (here < _SAME_SHARE * goes_on))]


def dragged_rows(z: Floats, diameter: Floats) -> list[tuple[int, int, str]]:
    """First and last row of each run that was dragged down, and what of it: `size` where one stands in three rows or
    more and then catches up with the shape, `station` where z goes on by a small even step and then catches up with
    the usual one. A band that is a cylinder does not catch up behind it."""
    sizes, stations = np.diff(diameter), np.diff(z)
    usual = float(np.median(stations)) if len(stations) else 0.0
    found = []
    for first, last in _runs(np.abs(sizes) < _SAME_MM):
        if not first or last + 1 >= len(sizes):
            continue
        before, after, on = (sizes[n] / stations[n] for n in (first - 1, last, last + 1))
        whole = after * stations[last] / float(z[last + 1] - z[first])  # pace of the run, the step behind it counted in
        if before * stations[first - 1] > _LEAST_STEP_MM and whole > _CAUGHT_UP * before and after > _TOO_FAST * on:
            found.append((first + 1, last, "size"))
    for first, last in _runs(stations < usual / 2):
        even = np.ptp(stations[first:last]) < _SAME_MM * len(z)
        whole = float(z[last + 1] - z[first]) / usual
        if last - first >= _FEWEST_STEPS and even and abs(whole - (last + 1 - first)) < _SAME_SHARE:
            found.append((first + 1, last, "station"))
    return found


def _runs(of: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Beginning and end of each run of at least two true steps with one behind it that is not."""
    pairs = [(first, last + 1) for first, last in runs_of_true(of)]
    return [(a, b) for a, b in pairs if b - a >= _FEWEST_REPEATED and b < len(of)]


def swapped_sizes(z: Floats, diameter: Floats) -> list[int]:
    """Rows whose size and the next one's lie on the curve only in each other's place.

    On a steep flare both spoil by how much its cubic is unsure, so that neither stands out alone; changing places says
    the same of both at once.
    """
    if len(z) <= 2 * _TO_EACH_SIDE + 2:
        return []
    cosine = np.cos(np.arctan(np.gradient(diameter / 2, z)))
    away = np.abs(_by_neighbours(z, diameter)[0] - diameter) / 2 * cosine
    found = []
    for n in np.flatnonzero((np.diff(diameter) < 0) & (np.minimum(away[:-1], away[1:]) > _LEAST_MM)).tolist():
        changed = diameter.copy()
        changed[[n, n + 1]] = diameter[[n + 1, n]]
        left = np.abs(_by_neighbours(z, changed)[0] - changed) / 2 * cosine
        if left[n] + left[n + 1] < _SWAPPED * (away[n] + away[n + 1]):
            found.append(n)
    return found


def _by_neighbours(z: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Each value by the cubic through the four stations next to it; and by how much one more would change that: what a
    cubic cannot follow of a steep flare."""
    place, width = np.arange(len(z)), 2 * _TO_EACH_SIDE
    first = np.clip(place - _TO_EACH_SIDE, 0, len(z) - width - 1)
    step = np.arange(width)
    near = first[:, None] + step + (first[:, None] + step >= place[:, None])  # the place itself left out
    expected = _through(z, values, near, z)
    more = np.where(first > 0, first - 1, first + width + 1)
    beyond = more >= len(z)
    five = np.column_stack([near, np.where(beyond, 0, more)])
    unsure = np.abs(expected - _through(z, values, five, z))
    return expected, np.where(beyond, 0.0, unsure)


def _through(z: Floats, values: Floats, near: NDArray[np.intp], at: Floats) -> Floats:
    """Polynomials through the points of each row of `near`, each at its own z = `at` (Lagrange)."""
    stations, total = z[near], np.zeros(len(at))
    for a in range(near.shape[1]):
        others = np.delete(stations, a, axis=1)
        with np.errstate(divide="ignore", invalid="ignore"):  # of a row with a place twice, which is not used
            total += values[near[:, a]] * np.prod((at[:, None] - others) / (stations[:, [a]] - others), axis=1)
    return total


def _usual(away: Floats) -> Floats:
    """Median error of the stations around each, its nearest left out: a slip spoils its neighbours' errors too."""
    usual = np.full(len(away), _FLOOR_MM)
    size = np.abs(away)
    for n in range(len(away)):
        around = np.r_[max(n - _AROUND, 0) : max(n - 2, 0), n + 3 : n + _AROUND + 1]
        some = size[around[around < len(away)]]
        some = some[np.isfinite(some)]
        if len(some) >= 3:
            usual[n] = max(float(np.median(some)), _FLOOR_MM)
        elif np.isfinite(size).any():
            usual[n] = max(float(np.nanmedian(size)), _FLOOR_MM)
    return usual
