"""The faults of one bell, before its batch is judged: a single wrong reading, a swelling or dent, a bell off its seat.

A wrong reading comes first: one row that stands out alone, whose neighbours are as forecast, is the tape measure's and
never the spinning's. Then swellings beyond the elastic envelope; then a bell that nothing explains is asked whether a
seat, a gauge or a wall would. What stands out at one place of half the batch's bells is no hand's mistake: it is in the
steel, and stays among the readings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from springfit.learning.data.observations import Bell
from springfit.learning.faults.fault_search import Explained, LocalFault, faults_of, without
from springfit.watching.batches.predictive import BellRows
from springfit.watching.signatures.naming import Named

__all__ = ["SearchedBell", "alike", "searched"]

Floats = NDArray[np.float64]

# Standard deviations of one reading beside all the others of its bell. A bell has some fifty readings and a book some
# ten thousand: at 6 none of them by chance, at 5 one in a hundred books, but hands have tails.
SLIP = 6.0
MOST_SLIPS = 3  # a bell; more wrong readings than that are a wrong setting-up; assumed
SAME_MM = 1.0  # of arc: one station; nobody reads two so near
NEIGHBOUR_MM = 25.0  # of arc within which a swelling would show in other readings too; half its two inches
NOWHERE = np.zeros(0)
THROAT_MM = (-45.0, 60.0)  # of arc past the draw end: where passes toward the tail swell it; common practice
ALIKE_MM = 4.0  # of arc: one place of two bells, as their stations are set and their datums differ; assumed
MOST_ALIKE = 0.5  # of a batch's bells, two at least, that may err at one place to one side; assumed
# Of the largest fault of a bell: a smaller one beside it is what that one's shape is not quite; assumed
LEAST_BESIDE = 0.5


@dataclass(frozen=True)
class SearchedBell:
    """What the search left: faults `named`, and the bell without them (`sound`, None where nothing is left)."""

    named: tuple[Named, ...]
    sound: Bell | None


def searched(one: BellRows, factor: Floats, draw_end: float, steel: Floats = NOWHERE) -> SearchedBell:
    """The faults of one bell; `factor` (n, m) of what was not known of its batch, `draw_end` arc [mm]; `steel` (k,) the
    arcs [mm] at which its batch reads alike: what is read there is not searched, and stays."""
    keep = _at(one.bell.arc, steel)
    asked = np.flatnonzero(~keep)
    right, slips = _without_slips(_rows(one, ~keep), factor[asked])
    keep[asked[right]] = True
    asked = asked[right]
    rows, rest_factor = _rows(one, np.isin(np.arange(len(keep)), asked)), factor[asked]
    freedom = np.hstack((rows.local, rest_factor))
    bell = replace(rows.bell, variance=rows.noise)
    explained = Explained(bell.gap - rows.rest, freedom, np.ones(freedom.shape[1]), bell.envelope)
    faults = faults_of(bell, explained)
    named = _apart([_named(fault, draw_end) for fault in faults])
    sound = without(one.bell.rows_where(keep), faults)
    if sound is not None and not (sound.springs > 0).any():
        sound = None
    return SearchedBell((*slips, *named), sound)


def alike(left: Sequence[SearchedBell]) -> Floats:
    """Arcs (k,) [mm] of single readings that stand out to one side, at one place, on too many of a batch's bells."""
    slips = [slip for bell in left for slip in bell.named if slip.name == "reading_slip"]
    least = max(MOST_ALIKE * len(left), 2.0)
    return np.array([
        slip.at[0] for slip in slips
        if len({other.bell_id for other in slips
                if abs(other.at[0] - slip.at[0]) <= ALIKE_MM and other.size * slip.size > 0.0}) >= least
    ])  # fmt: skip


def _at(arc: Floats, places: Floats) -> NDArray[np.bool_]:
    """Which of the arcs (n,) lie at one of the places (k,)."""
    return np.asarray((np.abs(arc[:, None] - places) <= ALIKE_MM).any(axis=1))


def _apart(named: Sequence[Named]) -> tuple[Named, ...]:
    """Each name once, and only faults that are no mere edge of the largest: swellings are not of the shape tried."""
    largest = max((abs(one.size) for one in named), default=0.0)
    kept: dict[str, Named] = {}
    for one in named:  # those with most evidence first
        if abs(one.size) >= LEAST_BESIDE * largest:
            kept.setdefault(one.name, one)
    return tuple(kept.values())


def _without_slips(one: BellRows, factor: Floats) -> tuple[NDArray[np.bool_], tuple[Named, ...]]:
    """Which rows (n,) are no single wrong readings, and these. Where taking a few out does not leave all the others as
    forecast, or nothing was read beside one, it is no slip, and all rows stay."""
    slips: list[Named] = []
    keep = np.ones(len(one.rest), dtype=bool)
    while keep.sum() > MOST_SLIPS:
        rest = _rows(one, keep)
        deviate, size = _beside_the_others(rest, factor[keep])
        worst = int(np.argmax(np.abs(deviate)))
        if abs(deviate[worst]) < SLIP:
            return keep, tuple(slips)
        bell, arc = rest.bell, float(rest.bell.arc[worst])
        beside = np.sum(np.abs(bell.arc - arc) < NEIGHBOUR_MM) - 1
        if len(slips) == MOST_SLIPS or beside < 1 or _neighbours(arc, float(size[worst]), slips, bell):
            break
        sd = abs(float(size[worst] / deviate[worst]))
        margin, group = 0.5 * float(deviate[worst]) ** 2, ("reading_slip",)
        slips.append(
            Named("reading_slip", bell.batch_id, bell.bell_id, float(size[worst]), sd, "mm", (arc, arc), margin, group)
        )
        keep[np.flatnonzero(keep)[worst]] = False
    return np.ones(len(one.rest), dtype=bool), ()


def _neighbours(arc: float, size: float, slips: Sequence[Named], bell: Bell) -> bool:
    """Whether one of the `slips`, to the same side, lies next to a reading at `arc`, with none between that are as
    forecast: two hands do not err alike side by side, a swelling read at few stations looks so."""
    for slip in slips:
        low, high = sorted((arc, slip.at[0]))
        between = (bell.arc > low + SAME_MM) & (bell.arc < high - SAME_MM)
        if np.sign(size) == np.sign(slip.size) and not between.any():
            return True
    return False


def _beside_the_others(one: BellRows, factor: Floats) -> tuple[Floats, Floats]:
    """Each reading less what all others and the forecast say of it, as a deviate and in mm, (n,)."""
    inverse = np.linalg.inv(one.covariance() + factor @ factor.T)
    pull, own = inverse @ one.rest, np.diag(inverse)
    return np.asarray(pull / np.sqrt(own)), np.asarray(pull / own)


def _rows(one: BellRows, keep: NDArray[np.bool_]) -> BellRows:
    arrays = (one.rest, one.noise, one.local, one.expected, one.of_steel)
    return BellRows(one.bell.rows_where(keep), *(values[keep] for values in arrays))


def _named(fault: LocalFault, draw_end: float) -> Named:
    middle = (fault.arc_from + fault.arc_to) / 2.0
    if fault.whole:
        name = "stranger"
    elif fault.alone:
        name = "reading_slip"
    elif fault.size < 0:
        name = "dent"
    elif draw_end > 0.0 and THROAT_MM[0] <= middle - draw_end <= THROAT_MM[1]:
        name = "throat_hump"
    else:
        name = "swelling"
    group = ("stranger", "mislabelled") if fault.whole else (name,)
    at = (fault.arc_from, fault.arc_to)
    return Named(name, fault.batch_id, fault.bell_id, fault.size, 0.0, "mm", at, fault.margin, group)
