"""The line of a new mandrel from what the old one was over the years: plating taken off, wear undone, scars left out.

Every revision that was measured is a specimen of the one line, lined up as originals are. Against the number of bells
spun before it each place then gives

    distance from the common line = first line + plating of that revision - wear a bell * bells

with the plating common to a revision, and wear at a place never less than none. Where a revision dips by itself at one
station, as at a trim ring, the station has no say. A recut makes another mandrel: only what was measured since the last
one counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.learning.data.mandrel_steel import STEEL_SD_MM
from springfit.survey.consensus import Consensus, consensus_of, smoothed
from springfit.survey.robust import ridge_fit
from springfit.survey.specimens import Specimen

__all__ = ["Copy", "Measured", "copied"]

STEP = 2.0  # [mm] of arc between the places that wear is told at; as the rows of a survey
WEAR_PRIOR = 0.02  # [mm] 1 sd of what a hundred bells take off a place; a worn facet loses 0.01; assumed
LINE_PRIOR = 1.0  # [mm] 1 sd of the first line about the common one: nothing is known of it
# [mm] a station this much below its neighbours on both sides is a scar, not wear; ten times what steel is read to
SCAR = 0.03
UNEVEN = 0.002  # [mm] 1 sd of steel from station to station besides reading; below what a lathe turns true; assumed


@dataclass(frozen=True)
class Measured:
    """One revision as measured: stations z, diameters (n,) [mm], bells spun before it, whether it is plated."""

    name: str
    z: FloatArray
    diameter: FloatArray
    bells: int
    plated: bool


@dataclass(frozen=True)
class Copy:
    """The first line with what was undone. s, z, diameter, error, wear, masked: (n,) places along it.

    error [mm]: 1 sd along the normal; wear [mm]: normal loss at the last revision; masked: no sound station near.
    plating [mm]: of each revision over the first, nothing where neither is plated; bells: before each.
    """

    line: Meridian
    revisions: tuple[Measured, ...]
    s: FloatArray
    z: FloatArray
    diameter: FloatArray
    error: FloatArray
    wear: FloatArray
    masked: np.ndarray
    levels: FloatArray

    @property
    def first_was_measured(self) -> bool:
        """Whether the line was measured before a bell was spun on it."""
        return min(one.bells for one in self.revisions) == 0


def copied(revisions: Sequence[Measured]) -> Copy:
    """The first line of one mandrel, its revisions in order since the last recut.

    Raises ValueError when they follow no smooth line, or there is none.
    """
    if not revisions:
        raise ValueError("no revision of the mandrel was measured, expected at least one profile")
    consensus = consensus_of([_specimen(one) for one in revisions])
    line = consensus.line
    s = np.linspace(0.0, line.length, int(line.length / STEP) + 1)
    arcs, aways, scars = _without_scars(consensus)
    levels = _levels(s, arcs, aways)
    bells = np.array([one.bells for one in revisions], dtype=float)
    away = np.array(
        [np.interp(s, arc, off - level) for arc, off, level in zip(arcs, aways, levels, strict=True)]
    )
    first, wear, error = _undone(away, bells - bells.min(), bells.min())
    masked = _masked(s, scars, arcs)
    points = line.at(s)
    z, r = points.z - first * np.sin(points.slope), points.r + first * np.cos(points.slope)
    keep = ~masked
    new = smoothed(z[keep], r[keep], error[keep])
    at = new.at(np.linspace(0.0, new.length, s.size))
    return Copy(new, tuple(revisions), at.s, at.z, 2 * at.r, error, wear * bells.max() / 100, masked, levels)


def _specimen(one: Measured) -> Specimen:
    error = np.full(one.z.size, STEEL_SD_MM)
    return Specimen(one.name, 1.0, 0.0, True, False, one.z, one.diameter / 2, error, None)


def _without_scars(consensus: Consensus) -> tuple[list[FloatArray], list[FloatArray], list[FloatArray]]:
    """Arc and distance from the common line of every sound station by revision, and the arcs of the scars."""
    arcs, aways, scars = [], [], []
    for i in range(len(consensus.specimens)):
        arc, on = consensus.lined.arc[i], np.isfinite(consensus.lined.arc[i])
        away = (
            consensus.lined.off[i] + consensus.lined.offsets[i] + consensus.lined.waved(i, np.nan_to_num(arc))
        )
        arc, away = arc[on], away[on]
        below = np.full(arc.size, 0.0)
        below[1:-1] = np.minimum(away[1:-1] - away[:-2], away[1:-1] - away[2:])
        dips = np.zeros(arc.size, bool)
        dips[1:-1] = np.maximum(away[1:-1] - away[:-2], away[1:-1] - away[2:]) < -SCAR
        arcs.append(arc[~dips])
        aways.append(away[~dips])
        scars.append(arc[dips])
    return arcs, aways, scars


def _levels(s: FloatArray, arcs: Sequence[FloatArray], aways: Sequence[FloatArray]) -> FloatArray:
    """How far each revision as a whole lies over the first: plating, or wear that is the same everywhere."""
    first = np.interp(s, arcs[0], aways[0])
    return np.array(
        [float(np.median(np.interp(s, arc, away) - first)) for arc, away in zip(arcs, aways, strict=True)]
    )


def _undone(away: FloatArray, bells: FloatArray, before: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """First line, wear of a hundred bells and the first line's 1 sd at each place; away: (revisions, places).

    bells: since the first revision measured, which had `before` bells behind it.
    """
    rows = np.column_stack((np.ones(bells.size), -(bells + before) / 100))
    error = np.full(bells.size, np.hypot(STEEL_SD_MM, UNEVEN))
    prior = np.array([LINE_PRIOR, WEAR_PRIOR])
    first, wear, spread = (np.zeros(away.shape[1]) for _ in range(3))
    for place, values in enumerate(away.T):
        sizes, covariance, _ = ridge_fit(rows, values, error, prior)
        if sizes[1] < 0:  # steel does not grow
            sizes, covariance, _ = ridge_fit(rows[:, :1], values, error, prior[:1])
            sizes = np.append(sizes, 0.0)
        first[place], wear[place], spread[place] = sizes[0], sizes[1], np.sqrt(covariance[0, 0])
    return first, wear, spread


def _masked(s: FloatArray, scars: Sequence[FloatArray], arcs: Sequence[FloatArray]) -> np.ndarray:
    """Places nearer to a scar of the first revision than to a sound station of it: nobody knows what was there."""
    bad, good = scars[0], arcs[0]
    if not bad.size:
        return np.zeros(s.size, bool)
    return np.abs(s[:, None] - bad).min(axis=1) < np.abs(s[:, None] - good).min(axis=1)
