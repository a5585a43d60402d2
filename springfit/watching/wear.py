"""Wear and scars of the steel: places where bells of one revision drift with the count of bells, or step at one batch.

A worn crest gives smaller bells by a little with every bell that goes over it, whoever spins; a scar is there from one
batch on. Either asks for the mandrel to be measured again before anything is made of it, and a new revision closes it.

A mandrel is asked anew after every batch, at some eighty places. Steel wears at its facets first, so that these have a
chance of a false answer to themselves; all other places share another, and need the more to be told. What is stated of
the readings' errors is what places along a flare differ by from batch to batch (see `worn_shops`, tests).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from springfit.watching.batches.local_places import STEP_MM, LocalPlaces
from springfit.watching.judged_batches import JudgedBatch

__all__ = ["LEAST_TOLD_MM", "Wear", "worn_places"]

Floats = NDArray[np.float64]
Stretches = Sequence[tuple[float, float]]

LEAST_BATCHES = 3  # of one revision, to tell a drift from a batch
BESIDE_STEP = 2  # batches on either side of a step: one may be read ill at a place, two not alike; assumed
# Of a false answer by chance, each time a revision is asked: one in a hundred for all its facets, half as often for all
# its other places; assumed
CHANCE, CHANCE_ELSEWHERE = 0.01, 0.005
# Half a thou: a difference that no caliper in the shop tells from none, of steel or bells; common practice, no source
LEAST_TOLD_MM = 0.0127
SCATTER = 0.004  # [mm] 1 sd by which one place differs from batch to batch beyond its readings; assumed
# Weighted squares that a step must leave fewer of than a drift to be called one on a facet: three sds. Elsewhere near
# the rim a scar is as likely as wear, and the better of the two is said.
STEP_WINS = 9.0
KNOWN_AS = 20.0  # degrees of freedom that the stated errors of readings count as; that is to 16 %; assumed
NEAR_RIM_MM = 45.0  # of arc back from the rim: where trimming tools reach; common practice, no source


@dataclass(frozen=True)
class Wear:
    """One place of one revision: `kind` worn_facet, wear, or trim_scar; `arc` [mm]; `change` [mm per side, - smaller]
    over the `bells` so far with its sd; `since` the batch from which a step is seen; `deviate` of the evidence."""

    kind: str
    mandrel_id: str
    revision: int
    arc: float
    change: float
    change_sd: float
    bells: int
    since: str
    deviate: float


def worn_places(
    judged: Sequence[JudgedBatch], counts: Mapping[str, int]
) -> tuple[Wear, ...]:
    """Places that drift or step on any revision. `judged` oldest first; `counts` bells spun by batch."""
    found: list[Wear] = []
    for key in dict.fromkeys((one.mandrel_id, one.revision) for one in judged):
        mine = [one for one in judged if (one.mandrel_id, one.revision) == key and one.places is not None]
        if len(mine) >= LEAST_BATCHES:
            found += _of_revision(mine, counts)
    return tuple(found)


def _of_revision(mine: Sequence[JudgedBatch], counts: Mapping[str, int]) -> list[Wear]:
    spun = np.array([counts.get(one.batch_id, len(one.bells)) for one in mine], dtype=float)
    bells = np.cumsum(spun) - spun / 2.0  # the middle of each batch
    along = _read(mine, bells, [one.places for one in mine])
    facets = _read(mine, bells, [one.facet_places for one in mine])
    if not along:
        return []
    limits, stretches = _Limits.of(along, len(facets)), mine[-1].steel.stretches
    tried = [_drift(place, limits.facet, spun.sum(), "worn_facet") for place in facets]
    for place in along:
        on_facet = any(low - STEP_MM <= place.arc <= high + STEP_MM for low, high in stretches)
        drift = _drift(place, limits.other, spun.sum(), "worn_facet" if on_facet else "wear")
        tried.append(_scar(place, limits.other, spun.sum(), STEP_WINS if on_facet else 0.0) or drift)
    return _apart([one for one in tried if one is not None])


@dataclass(frozen=True)
class _Place:
    """One place in the batches that `seen` it: bells spun before their middle, heights of a ring there, sds."""

    arc: float
    bells: Floats
    size: Floats
    sd: Floats
    seen: Sequence[JudgedBatch]

    @property
    def near_rim(self) -> bool:
        """Whether a trimming tool reaches it."""
        return self.seen[0].rim_arc - self.arc <= NEAR_RIM_MM


def _read(mine: Sequence[JudgedBatch], bells: Floats, places: Sequence[LocalPlaces | None]) -> list[_Place]:
    """The places of the bell that batches enough have read; past its rim there is none of it."""
    found, rim = [], min(one.rim_arc for one in mine)
    for arc in sorted({round(float(arc), 3) for one in places if one for arc in one.arc if arc <= rim}):
        size, sd = np.array([one.at(arc) if one else (np.nan, np.nan) for one in places]).T
        read = np.isfinite(size)
        if read.sum() >= LEAST_BATCHES:
            seen = [one for one, kept in zip(mine, read, strict=True) if kept]
            found.append(_Place(arc, bells[read], size[read], np.hypot(sd, SCATTER)[read], seen))
    return found


@dataclass(frozen=True)
class _Limits:
    """The deviates at which a drift of a `facet` is told, and a drift or step of any `other` place."""

    facet: float
    other: float

    @classmethod
    def of(cls, along: Sequence[_Place], facets: int) -> _Limits:
        """Those for so many places and `facets`. A steel only loses; a step has two sides, for a scar has its burr, and
        any batch to begin with."""
        freedom = KNOWN_AS + max(len(one.size) for one in along) - 2
        steps = sum(2 * max(len(one.size) + 1 - 2 * BESIDE_STEP, 0) for one in along if one.near_rim)
        chances = CHANCE / max(facets, 1), CHANCE_ELSEWHERE / (len(along) + steps)
        facet, other = (float(student.isf(chance, freedom)) for chance in chances)
        return cls(facet, other)


def _drift(place: _Place, limit: float, spun: float, kind: str) -> Wear | None:
    """The wear of one place; None where it is as ever."""
    slope, stated_sd, left = _line(place.bells, place.size, place.sd)
    slope_sd = stated_sd * _as_shown(left, len(place.size))
    if slope > -limit * slope_sd or slope * spun > -LEAST_TOLD_MM:
        return None
    one = place.seen[0]
    return Wear(
        kind, one.mandrel_id, one.revision, place.arc, slope * spun, slope_sd * spun, int(spun), "", slope / slope_sd
    )


def _scar(place: _Place, limit: float, spun: float, wins: float) -> Wear | None:
    """The scar of one place near the rim; None where it is as ever, or drifts: a step has to win by `wins` squares."""
    if not place.near_rim or len(place.size) < 2 * BESIDE_STEP:
        return None
    step, stated_sd, at, left = _step(place.size, place.sd)
    step_sd = stated_sd * _as_shown(left, len(place.size))
    drifts = _line(place.bells, place.size, place.sd)[2] - left < wins
    if drifts or abs(step) < LEAST_TOLD_MM or abs(step) < limit * step_sd:
        return None
    one = place.seen[0]
    since = place.seen[at].batch_id
    return Wear(
        "trim_scar", one.mandrel_id, one.revision, place.arc, step, step_sd, int(spun), since, step / step_sd
    )


def _as_shown(left: float, batches: int) -> float:
    """What the stated errors are to be multiplied by when a line or a step leaves so many weighted squares of batches:
    where one batch was read ill, neither is believed."""
    return float(np.sqrt((KNOWN_AS + left) / (KNOWN_AS + batches - 2)))


def _line(x: Floats, y: Floats, sd: Floats) -> tuple[float, float, float]:
    """Slope with its sd, and the weighted sum of squares a straight line leaves."""
    weight = sd**-2
    middle, level = float(np.average(x, weights=weight)), float(np.average(y, weights=weight))
    spread = float(np.sum(weight * (x - middle) ** 2))
    slope = float(np.sum(weight * (x - middle) * (y - level))) / spread
    return slope, spread**-0.5, float(np.sum(weight * (y - level - slope * (x - middle)) ** 2))


def _step(y: Floats, sd: Floats) -> tuple[float, float, int, float]:
    """The best single step: its height with sd, before which value, and the weighted sum of squares it leaves."""
    best = (0.0, 1.0, 1, float("inf"))
    for at in range(BESIDE_STEP, len(y) + 1 - BESIDE_STEP):
        weights = sd[:at] ** -2, sd[at:] ** -2
        levels = [float(np.average(part, weights=w)) for part, w in zip((y[:at], y[at:]), weights, strict=True)]
        left = sum(float(np.sum(w * (part - level) ** 2)) for part, w, level in
                   zip((y[:at], y[at:]), weights, levels, strict=True))  # fmt: skip
        if left < best[3]:
            height_sd = float(np.sqrt(sum(1.0 / w.sum() for w in weights)))
            best = (levels[1] - levels[0], height_sd, at, left)
    return best


def _apart(found: list[Wear]) -> list[Wear]:
    """The strongest of places that stand beside one another."""
    kept: list[Wear] = []
    for one in sorted(found, key=lambda wear: -abs(wear.deviate)):
        if all(abs(one.arc - other.arc) > 3.0 * STEP_MM for other in kept):
            kept.append(one)
    return sorted(kept, key=lambda wear: wear.arc)
