"""Wear and scars of the steel: places where bells of one revision drift with the count of bells, or step at one batch.

A worn crest gives smaller bells by a little with every bell that goes over it, whoever spins; a scar is there from one
batch on. Either asks for the mandrel to be measured again before anything is made of it, and a new revision closes it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from springfit.watching.batches.local_places import STEP_MM
from springfit.watching.judged_batches import JudgedBatch

__all__ = ["LEAST_TOLD_MM", "Wear", "worn_places"]

Floats = NDArray[np.float64]
Stretches = Sequence[tuple[float, float]]

LEAST_BATCHES = 3  # of one revision, to tell a drift from a batch
CHANCE = 0.01  # of any place of one revision by chance, all its places tried; one in a hundred; assumed
# Half a thou: a difference that no caliper in the shop tells from none, of steel or bells; common practice, no source
LEAST_TOLD_MM = 0.0127
SCATTER = 0.004  # [mm] 1 sd by which one place differs from batch to batch beyond its readings; assumed
STEP_WINS = 9.0  # weighted squares that a step must leave fewer of than a drift to be called one: three sds
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
    arcs = sorted({round(float(arc), 3) for one in mine if one.places for arc in one.places.arc})
    limit = float(student.ppf(1.0 - CHANCE / (2.0 * max(len(arcs), 1)), max(len(mine) - 2, 1) + KNOWN_AS))
    found: list[Wear] = []
    for arc in arcs:
        size, sd = (np.array(v) for v in zip(*(one.places.at(arc) for one in mine if one.places), strict=True))
        read = np.isfinite(size)
        if read.sum() < LEAST_BATCHES:
            continue
        seen = [one for one, kept in zip(mine, read, strict=True) if kept]
        place = _Place(arc, bells[read], size[read], np.hypot(sd, SCATTER)[read], seen)
        worn = _at_place(place, int(spun.sum()), limit, mine[-1].steel.stretches)
        if worn:
            found.append(worn)
    return _apart(found)


@dataclass(frozen=True)
class _Place:
    """One place in the batches that `seen` it: bells spun before their middle, heights of a ring there, sds."""

    arc: float
    bells: Floats
    size: Floats
    sd: Floats
    seen: Sequence[JudgedBatch]


def _at_place(place: _Place, spun: int, limit: float, facets: Stretches) -> Wear | None:
    """The wear or scar of one place; None where it is as ever."""
    slope, slope_sd, misfit = _line(place.bells, place.size, place.sd)
    step, step_sd, at, step_misfit = _step(place.size, place.sd)
    one = place.seen[0]
    near_rim = one.rim_arc - place.arc <= NEAR_RIM_MM
    steps = misfit - step_misfit > STEP_WINS and abs(step) > LEAST_TOLD_MM
    if near_rim and steps and abs(step / step_sd) > limit:
        since = place.seen[at].batch_id
        return Wear(
            "trim_scar", one.mandrel_id, one.revision, place.arc, step, step_sd, spun, since, step / step_sd
        )
    change, change_sd, deviate = slope * spun, slope_sd * spun, slope / slope_sd
    if abs(deviate) < limit or change > -LEAST_TOLD_MM:
        return None
    on_facet = any(low - STEP_MM <= place.arc <= high + STEP_MM for low, high in facets)
    kind = "worn_facet" if on_facet else "wear"
    return Wear(kind, one.mandrel_id, one.revision, place.arc, change, change_sd, spun, "", deviate)


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
    for at in range(1, len(y)):
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
