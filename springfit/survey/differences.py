"""How the specimens differ: a spread along the bell, places where too few agree, and which is the odd one and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from springfit.geometry.points import FloatArray
from springfit.normal_errors import BAND_90
from springfit.survey.consensus import Consensus
from springfit.survey.lining_up import offset_prior
from springfit.survey.shared_facets import SharedFacet

__all__ = ["Departure", "OwnDifference", "Spread", "own_differences", "proposed_tolerance", "spread_of"]

WINDOW = 10.0  # [mm] 1 sd of the bell curve over which a spread is gathered; a quarter of a dish; assumed
AGREE = 0.3  # weight of a station above which it agrees with the others; two thirds out to where none is left; assumed
MOST_OF = 2 / 3  # of the trust there that has to agree: with fewer nobody can say who is dented
FELT = 0.05  # [mm] a local departure worth a word: two thou, what a straightedge shows
APART = 15.0  # [mm] between two departures; stations of one dent lie closer
ODD = 2.0  # times the others' usual difference at which a specimen is the odd one; assumed
ODD_MM = 0.03  # [mm] rms under which no specimen is odd; what buffing takes (`lining_up.OFFSET_PRIOR`); assumed
UNKNOWN_SPREAD_TOLERANCE = (
    0.05  # [mm] two thou, common practice, no source; stands where one specimen tells no spread
)
LEAST_TOLERANCE = 0.025  # [mm] a thou: no shop holds less
STEP_OF_TOLERANCE = 0.005  # [mm]; tolerances are written in steps of it; assumed


@dataclass(frozen=True)
class Spread:
    """Along the consensus, at arcs s (n,) [mm]: 1 sd between specimens (nan: not known), 1 sd of the consensus itself,
    how many specimens reach there and how many agree, and whether too few do (masked).

    between and shape_error are told beside each specimen's own offset; error is that of the line where it is drawn, of
    which buffing and walls read at one place leave more open than all readings do.
    """

    s: FloatArray
    between: FloatArray
    shape_error: FloatArray
    error: FloatArray
    reach: FloatArray
    agree: FloatArray
    masked: np.ndarray


@dataclass(frozen=True)
class Departure:
    """A place where one specimen leaves the others: arc and station [mm], and the normal departure there, - inward."""

    s: float
    z: float
    amount: float


@dataclass(frozen=True)
class OwnDifference:
    """How one specimen differs: slide and offset [mm] taken out, offset's 1 sd, rms of its slow waves and of all that
    is left [mm], its departures, the facets (by number) it lacks, and whether it is the odd one."""

    specimen_id: str
    slide: float
    offset: float
    offset_error: float
    slow: float
    rms: float
    departures: tuple[Departure, ...]
    lacking: tuple[int, ...]
    odd: bool


def spread_of(consensus: Consensus, s: FloatArray) -> Spread:
    """The spread between specimens and what the consensus is known to, at arcs s."""
    lined, specimens = consensus.lined, consensus.specimens
    squares, whole, count, agree, reach = (np.zeros((len(specimens), s.size)) for _ in range(5))
    known, say = np.zeros(s.size), 1.0 / np.array([offset_prior(one) ** 2 for one in specimens])
    for i, one in enumerate(specimens):
        on = np.isfinite(lined.arc[i])
        arc, weight = lined.arc[i][on], lined.weight[i][on]
        apart = lined.off[i][on] + lined.waved(i, arc)
        near = np.exp(-0.5 * ((s[:, None] - arc) / WINDOW) ** 2)
        squares[i], count[i] = near @ (weight * (apart**2 - one.error[on] ** 2)), near @ weight
        square = (apart + lined.offsets[i]) ** 2 - one.error[on] ** 2
        whole[i] = say[i] / say.mean() * near @ (weight * square)
        reach[i] = (s >= arc.min() - WINDOW) & (s <= arc.max() + WINDOW)
        agree[i] = reach[i] * (np.interp(s, arc, weight) > AGREE)
        known += one.trust * near @ (weight / one.error[on] ** 2) / (WINDOW * np.sqrt(2 * np.pi))
    number = len(specimens)
    variance = squares.sum(axis=0) / np.maximum(count.sum(axis=0), 1e-9) * number / max(number - 1, 1)
    between = np.sqrt(np.maximum(variance, 0.0)) if number > 1 else np.full(s.size, np.nan)
    trust = np.array([one.trust for one in specimens])
    masked = (trust @ agree < MOST_OF * (trust @ reach) - 1e-9) if number > 2 else np.zeros(s.size, bool)
    # Stations over the reach of a facet's slope, some 12 mm, settle a place together.
    settled = 1.0 / np.maximum(12.0 * known, 1e-9)
    agreeing = np.maximum(agree.sum(axis=0), 1)
    shape_error = np.sqrt(settled + np.nan_to_num(between) ** 2 / agreeing)
    # What was expected beforehand counts as one specimen more: one or two by themselves would seem to agree.
    squared = np.maximum(whole.sum(axis=0) / np.maximum(count.sum(axis=0), 1e-9), 0.0)
    error = np.sqrt(settled + (1.0 / say.mean() / number + squared) / agreeing)
    return Spread(s, between, shape_error, error, reach.sum(axis=0), agree.sum(axis=0), masked)


def own_differences(consensus: Consensus, facets: Sequence[SharedFacet]) -> tuple[OwnDifference, ...]:
    """How each specimen differs from the consensus, the odd one named."""
    found = [_own(consensus, i, facets) for i in range(len(consensus.specimens))]
    rms = np.array([one.rms for one in found])
    odd = int(np.argmax(rms))
    others = np.delete(rms, odd)
    stands_out = rms.size > 2 and rms[odd] > max(ODD * float(np.median(others)), ODD_MM)
    return tuple(
        OwnDifference(**{**vars(one), "odd": bool(stands_out and i == odd)}) for i, one in enumerate(found)
    )


def proposed_tolerance(spread: Spread) -> tuple[float, bool]:
    """Tolerance [mm] normal, per side, that nine specimens of ten would pass, and whether it rests on a spread."""
    known = np.isfinite(spread.between) & ~spread.masked
    if not known.any():
        return UNKNOWN_SPREAD_TOLERANCE, False
    wanted = BAND_90 * float(np.sqrt(np.mean(spread.between[known] ** 2)))
    steps = np.ceil(max(wanted, LEAST_TOLERANCE) / STEP_OF_TOLERANCE - 1e-9)
    return float(steps * STEP_OF_TOLERANCE), True


def _own(consensus: Consensus, number: int, facets: Sequence[SharedFacet]) -> OwnDifference:
    lined = consensus.lined
    on = np.isfinite(lined.arc[number])
    arc, off = lined.arc[number][on], lined.off[number][on]
    slow = lined.waved(number, arc)
    lacking = tuple(k + 1 for k, facet in enumerate(facets) if facet.on[number].there == "no")
    return OwnDifference(
        consensus.specimens[number].specimen_id, float(lined.slides[number]), float(lined.offsets[number]),
        float(lined.offset_errors[number]), float(np.sqrt(np.mean(slow**2))),
        float(np.sqrt(np.mean((off + slow) ** 2))),
        _departures(consensus, arc, off, lined.weight[number][on]), lacking, odd=False,
    )  # fmt: skip


def _departures(
    consensus: Consensus, arc: FloatArray, off: FloatArray, weight: FloatArray
) -> tuple[Departure, ...]:
    """The deepest place of each run of stations that leave the others."""
    far = np.flatnonzero((weight <= AGREE) & (np.abs(off) > FELT))
    runs: list[list[int]] = []
    for i in far:
        if runs and arc[i] - arc[runs[-1][-1]] < APART and off[i] * off[runs[-1][-1]] > 0:
            runs[-1].append(int(i))
        else:
            runs.append([int(i)])
    worst = [max(run, key=lambda i: abs(off[i])) for run in runs]
    return tuple(Departure(float(arc[i]), float(consensus.line.at(arc[i]).z), float(off[i])) for i in worst)
