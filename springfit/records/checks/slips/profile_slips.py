"""Sizes of a mandrel or a target that the stations around them do not bear out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["ProfileSlip", "profile_slips"]

Floats = NDArray[np.float64]

_TO_EACH_SIDE = 2  # stations whose cubic says what the one between them is
_AROUND = 7  # stations to either side that show how well that goes here
# Of the median error around it. Looked at on the demo and the sample shops' mandrels and targets: the most there is 4,
# at a join of two arcs.
_TIMES = 7.0
_LEAST_MM = (
    0.08  # normal, per side: a slip of 0.2 mm in a diameter is 0.1; lathe and caliper err by some hundredths
)
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


def _by_neighbours(z: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Each value by the cubic through the four stations next to it; and by how much one more would change that: what a
    cubic cannot follow of a steep flare."""
    expected, unsure = np.full(len(z), np.nan), np.zeros(len(z))
    for n in range(len(z)):
        first = min(max(n - _TO_EACH_SIDE, 0), len(z) - 2 * _TO_EACH_SIDE - 1)
        near = np.array([m for m in range(first, first + 2 * _TO_EACH_SIDE + 1) if m != n])
        more = first - 1 if first > 0 else first + 2 * _TO_EACH_SIDE + 1
        expected[n] = _through(z, values, near, z[n])
        if more < len(z):
            unsure[n] = abs(expected[n] - _through(z, values, np.r_[near, more], z[n]))
    return expected, unsure


def _through(z: Floats, values: Floats, near: NDArray[np.intp], at: float) -> float:
    """The polynomial through the points `near`, at z = `at` (Lagrange)."""
    weights = [np.prod([(at - z[b]) / (z[a] - z[b]) for b in near if b != a]) for a in near]
    return float(np.dot(weights, values[near]))


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
