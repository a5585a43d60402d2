"""Specimens lined up on the shape of flare and facets, whatever one of them has suffered.

Each is slid along the axis and set off by a common amount along its normal, by a resistant fit with priors, to where
the others lie; then where they lie is found anew by a resistant location, until nothing moves (resistant Procrustes:
Hyun, Lee & Choi 2018). There is no stretching and no bending: that would move facets. What lies near the rim, where a
bead is rolled, has no say in it. A majority dented at one place cannot be rescued: it is what the location finds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.geometry.seating import nearest_point
from springfit.learning.basis.spun_sheet import bead_arc
from springfit.survey.robust import biweight, located, ridge_fit
from springfit.survey.specimens import Specimen

__all__ = ["LinedUp", "first_slides", "lined_up", "offset_prior"]

SLIDE_PRIOR = 3.0  # [mm] 1 sd: how differently old tails are cut; weak, the flare tells; assumed
OFFSET_PRIOR = (
    0.03  # [mm] 1 sd: buffing takes 0.01 to 0.05 off an outside, unevenly, and a wall is read at one place
)
# [mm] 1 sd of a wall that nobody stated, beside those of its family; one gauge number, a tenth of half a millimetre;
# assumed
UNKNOWN_WALL = 0.05
OWN_SHAPE = (
    0.015  # [mm] 1 sd of each slow wave by which a sound bell differs from its family: uneven buffing, wear
)
UNEVEN = 0.004  # [mm] 1 sd of what is left of that from station to station; assumed
WAVE = 120.0  # [mm] the shortest of those waves: three times a facet, so that no facet is taken for one
GRID = 2.0  # [mm] between the places where specimens are compared; assumed fine enough
# And [mm] by which the last slide still moves; a bound on time, and less than any reading tells
ROUNDS, SETTLED = 15, 2e-3
LEAST_SPREAD = 0.01  # [mm] below which a spread between few specimens is luck; assumed
WITHIN_RIM, PAST_TAIL = 0.97, 1.05  # times the least rim and the widest tail: clear of beads and cut ends; assumed
FLARE_RADII = 60  # radii at which flares are first compared; assumed fine enough


@dataclass(frozen=True)
class LinedUp:
    """Specimens on one line. What belongs to a specimen's stations is a tuple of arrays (n_i,) [mm].

    line: any curve near them. slides, offsets (specimens,): added to z, and taken off the normal distance; the middle
    slide and the mean offset are none. own (specimens, waves): sizes [mm] of the slow waves by which each differs from
    the others. arc: foot of each station; off: its normal distance from the line, slide, offset and waves taken out;
    nan past an end of the line. weight: 0 to 1, how far a station agrees. grid, middle, spread (places,): the resistant
    location of all from the line, and the spread it was scaled by.
    """

    line: Meridian
    slides: FloatArray
    offsets: FloatArray
    offset_errors: FloatArray
    own: FloatArray
    arc: tuple[FloatArray, ...]
    off: tuple[FloatArray, ...]
    weight: tuple[FloatArray, ...]
    grid: FloatArray
    middle: FloatArray
    spread: FloatArray

    def waved(self, specimen: int, s: FloatArray) -> FloatArray:
        """Slow difference [mm] of a specimen from the others at arcs s (n,) [mm], beside slide and offset."""
        return np.asarray(_waves(s, self.line.length) @ self.own[specimen])


def first_slides(specimens: Sequence[Specimen]) -> tuple[FloatArray, FloatArray]:
    """Slides [mm] that bring the flares together, and how far along the axis each is then from the middle one [mm].

    A slide is the middle one of the shifts at which a specimen reaches common radii.
    """
    rim = min(float(one.r[-1]) for one in specimens) * WITHIN_RIM
    tail = max(float(one.r[0]) for one in specimens) * PAST_TAIL
    radii = np.geomspace(np.sqrt(tail * rim) if rim > tail else rim, rim, FLARE_RADII)
    reached = np.array([np.interp(radii, np.maximum.accumulate(one.r), one.z) for one in specimens])
    slides = np.zeros(len(specimens))
    for _ in range(3):
        middle = np.median(reached + slides[:, None], axis=0)
        slides = np.median(middle - reached, axis=1)
    apart = np.median(
        np.abs(reached + slides[:, None] - np.median(reached + slides[:, None], axis=0)), axis=1
    )
    return np.asarray(slides - np.median(slides)), np.asarray(apart)


def lined_up(specimens: Sequence[Specimen], line: Meridian, slides: FloatArray) -> LinedUp:
    """All specimens lined up beside `line`, beginning from `slides` [mm]."""
    trust = np.array([one.trust for one in specimens])
    level = trust / np.array([offset_prior(one) for one in specimens]) ** 2
    grid = np.arange(0.0, line.length + 1e-9, GRID)
    fits = [_Fit.none(one, slide, line) for one, slide in zip(specimens, slides, strict=True)]
    moved = np.inf
    for turn in range(ROUNDS):
        feet = [
            nearest_point(line, one.z + fit.slide, one.r) for one, fit in zip(specimens, fits, strict=True)
        ]
        off = [_apart(*foot, fit, line) for foot, fit in zip(feet, fits, strict=True)]
        away = np.array([_on_grid(grid, foot[0], rest) for foot, rest in zip(feet, off, strict=True)])
        middle, spread = located(away, trust, LEAST_SPREAD)
        known = np.isfinite(middle)
        middle, spread = (np.interp(grid, grid[known], values[known]) for values in (middle, spread))
        if turn == ROUNDS - 1 or (turn > 1 and moved < SETTLED):
            break
        found = [
            _fit(one, foot, fit.slide, np.interp(foot[0], grid, middle), line)
            for one, foot, fit in zip(specimens, feet, fits, strict=True)
        ]
        found = _centred(found, trust, level)
        moved = max(abs(new.slide - fit.slide) for new, fit in zip(found, fits, strict=True))
        fits = found
    return LinedUp(
        line, np.array([fit.slide for fit in fits]), np.array([fit.offset for fit in fits]),
        np.array([fit.offset_error for fit in fits]), np.array([fit.own for fit in fits]),
        tuple(foot[0] for foot in feet), tuple(off), tuple(fit.weight for fit in fits), grid, middle, spread,
    )  # fmt: skip


@dataclass(frozen=True)
class _Fit:
    slide: float
    offset: float
    offset_error: float
    own: FloatArray
    weight: FloatArray

    @classmethod
    def none(cls, one: Specimen, slide: float, line: Meridian) -> _Fit:
        """Before anything is fitted."""
        waves = _waves(np.zeros(1), line.length).shape[1]
        return cls(float(slide), 0.0, np.inf, np.zeros(waves), np.ones(one.z.size))


def _fit(
    one: Specimen, foot: tuple[FloatArray, FloatArray], slide: float, others: FloatArray, line: Meridian
) -> _Fit:
    """What slide, offset and slow waves best lay one specimen on the others, and the weight of each of its stations.

    A point slid by d toward the rim comes off the line by -d sin(slope).
    """
    arc, away = foot
    on = np.isfinite(arc)
    votes = on & (arc <= bead_arc(line, float(np.nanmax(arc))))
    sine = np.sin(line.at(np.where(on, arc, 0.0)).slope)
    waves = _waves(arc, line.length)
    rows = np.column_stack((sine, np.ones_like(sine), waves))
    prior = np.concatenate(([SLIDE_PRIOR, offset_prior(one)], np.full(waves.shape[1], OWN_SHAPE)))
    values = away - others + sine * slide  # the whole slide is fitted, for the prior is about the whole of it
    error = np.hypot(one.error, UNEVEN)
    # Waves could bend to a long patch: what slide and offset alone refuse is refused before there are any.
    stiff = ridge_fit(rows[votes, :2], values[votes], np.hypot(one.error, OWN_SHAPE)[votes], prior[:2])[2]
    sizes, covariance, held = ridge_fit(rows[votes], values[votes], error[votes], prior, start=stiff)
    weight = np.zeros(arc.size)
    weight[votes] = _beside_refused(held)
    weight[on & ~votes] = biweight((values - rows @ sizes)[on & ~votes], error[on & ~votes])
    return _Fit(float(sizes[0]), float(sizes[1]), float(np.sqrt(covariance[1, 1])), sizes[2:], weight)


def _beside_refused(weight: FloatArray) -> FloatArray:
    """Weights with those beside a refused station refused too: the edge of a dent leans the way the dent does."""
    refused = weight <= 0.0
    beside = np.convolve(refused, (1, 1, 1), mode="same") > 0
    return np.where(beside, 0.0, weight)


def _centred(fits: list[_Fit], trust: FloatArray, level: FloatArray) -> list[_Fit]:
    """The fits with what all share given back to the line: the middle slide, the mean offset, the mean waves."""
    slide = _middle(np.array([fit.slide for fit in fits]), trust)
    offset = float(np.average([fit.offset for fit in fits], weights=level))
    own = np.average([fit.own for fit in fits], axis=0, weights=trust)
    return [
        replace(fit, slide=fit.slide - slide, offset=fit.offset - offset, own=fit.own - own) for fit in fits
    ]


def offset_prior(one: Specimen) -> float:
    """1 sd [mm] of how far a specimen as a whole lies off its family: buffing, and a wall that nobody stated."""
    return (
        OFFSET_PRIOR
        if one.wall_stated or not one.through_wall
        else float(np.hypot(OFFSET_PRIOR, UNKNOWN_WALL))
    )


def _waves(s: FloatArray, length: float) -> FloatArray:
    """Cosines along the line, none shorter than WAVE from crest to crest: (n, waves)."""
    count = max(int(2 * length / WAVE), 1)
    return np.asarray(np.cos(np.pi * np.arange(1, count + 1) * np.asarray(s)[:, None] / length))


def _apart(arc: FloatArray, away: FloatArray, fit: _Fit, line: Meridian) -> FloatArray:
    """Normal distances with offset and waves taken out; nan past the line's ends."""
    return np.asarray(away - fit.offset - _waves(arc, line.length) @ fit.own)


def _on_grid(grid: FloatArray, arc: FloatArray, away: FloatArray) -> FloatArray:
    """Distances at the grid between a specimen's first and last station; nan elsewhere."""
    on = np.isfinite(arc)
    order = np.argsort(arc[on])
    return np.interp(grid, arc[on][order], away[on][order], left=np.nan, right=np.nan)


def _middle(values: FloatArray, trust: FloatArray) -> float:
    """Weighted median of the slides."""
    order = np.argsort(values)
    share = np.cumsum(trust[order]) / trust.sum()
    return float(values[order][np.searchsorted(share, 0.5 - 1e-12)])
