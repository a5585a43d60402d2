"""Facets of the consensus: in how many of the specimens each is found, where and how deep in each of them.

Facets are looked for on the common line, where the stations of all stand together. Each specimen is then asked, beside
its own slide, offset and slow waves, what share of the facet's depth it shows and how far along the arc.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from springfit.geometry.facets.finder import Facet, FacetFinder
from springfit.geometry.points import FloatArray
from springfit.survey.consensus import Consensus, size_and_place_error
from springfit.survey.facet_search import explain_family
from springfit.survey.lining_up import OWN_SHAPE, UNEVEN, WAVE
from springfit.survey.robust import ridge_fit

__all__ = ["FacetOn", "SharedFacet", "shared_facets"]

# Of the error of averaged stations: an error stated too small is found out, too large hides facets; assumed
STATED_SHARE = 0.7
SHARE_PRIOR = (
    1.0  # 1 sd of how a specimen's depth differs from the common one, as a share of it: it may lack the facet
)
SHIFT_PRIOR = 3.0  # [mm] 1 sd of how far along the arc it lies elsewhere; facets are cut by hand; assumed
SLIDE_LEFT = 0.1  # [mm] 1 sd of what lining up may have left of its slide; four thou; assumed
TOLD = 0.25  # 1 sd of a share above which a specimen does not tell: nothing and all are then two sd either way of half
# Mean weight of the stations over a facet under which a dent or patch there leaves it untold; assumed
LEAST_SOUND = 0.6
STEP = 0.5  # [mm] of the grid that a facet's motion is worked out on; assumed fine enough


@dataclass(frozen=True)
class FacetOn:
    """A facet on one specimen: whether it is there, the share of the common depth it shows, and its shift [mm]."""

    specimen_id: str
    there: Literal["yes", "no", "not told"]
    share: float
    share_error: float
    shift: float
    shift_error: float


@dataclass(frozen=True)
class SharedFacet:
    """A facet of the consensus, 1 sd [mm] of its place, and what each specimen shows of it."""

    facet: Facet
    place_error: float
    on: tuple[FacetOn, ...]

    @property
    def found_in(self) -> int:
        """In how many specimens it is."""
        return sum(one.there == "yes" for one in self.on)


def shared_facets(consensus: Consensus) -> tuple[SharedFacet, ...]:
    """All facets of the consensus from tail to rim."""
    size, place = size_and_place_error(consensus.z, consensus.r, STATED_SHARE * consensus.error)
    finder = FacetFinder(
        consensus.line, consensus.z, 2 * consensus.r, diameter_error=2 * size, z_error=place,
        explained_by=explain_family,
    )  # fmt: skip
    facets = finder.facets
    if not facets:
        return ()
    asked = [_asked(consensus, number, facets) for number in range(len(consensus.specimens))]
    return tuple(
        SharedFacet(facet, _place_error([one[k] for one in asked]), tuple(one[k] for one in asked))
        for k, facet in enumerate(facets)
    )


def _asked(consensus: Consensus, number: int, facets: tuple[Facet, ...]) -> list[FacetOn]:
    """What one specimen shows of each facet."""
    line, one, lined = consensus.line, consensus.specimens[number], consensus.lined
    arc, off = lined.arc[number], lined.off[number]
    on = np.isfinite(arc)
    arc, off, error = arc[on], off[on], np.hypot(one.error[on], UNEVEN)
    grid = np.linspace(0.0, line.length, int(line.length / STEP) + 1)
    deeper = [facet.deepened(grid, facet.depth) for facet in facets]
    depths = [np.interp(arc, grid, motion) for motion in deeper]
    places = [-np.interp(arc, grid, np.gradient(motion, grid)) for motion in deeper]
    slow = _slow(arc, line.length)
    rows = np.column_stack((*depths, *places, np.sin(line.at(arc).slope), slow))
    count = len(facets)
    prior = np.concatenate(
        (np.full(count, SHARE_PRIOR), np.full(count, SHIFT_PRIOR), [SLIDE_LEFT], np.full(slow.shape[1], OWN_SHAPE))
    )
    sizes, covariance, weight = ridge_fit(rows, off, error, prior)
    near = [weight[np.abs(arc - one.s) <= one.term.reach / 2] for one in facets]
    spoiled = [not there.size or float(there.mean()) < LEAST_SOUND for there in near]
    spread = np.sqrt(np.diag(covariance))
    return [
        FacetOn(
            one.specimen_id, _there(1 + sizes[k], spread[k], spoiled[k]), float(1 + sizes[k]), float(spread[k]),
            float(sizes[count + k]), float(spread[count + k]),
        )
        for k in range(count)
    ]  # fmt: skip


def _there(share: float, error: float, spoiled: bool) -> Literal["yes", "no", "not told"]:
    if error > TOLD or spoiled:
        return "not told"
    return "yes" if share > 0.5 else "no"


def _place_error(on: list[FacetOn]) -> float:
    """1 sd [mm] of the common place: what the specimens together tell, and how they differ."""
    shown = [one for one in on if one.there == "yes"]
    if not shown:
        return float("nan")
    weight = np.array([1 / one.shift_error**2 for one in shown])
    shift = np.array([one.shift for one in shown])
    mean = float(np.average(shift, weights=weight))
    between = float(np.average((shift - mean) ** 2, weights=weight)) / max(len(shown) - 1, 1)
    return float(np.sqrt(1 / weight.sum() + between))


def _slow(s: FloatArray, length: float) -> FloatArray:
    """A constant and cosines no shorter than WAVE: (n, waves)."""
    return np.asarray(np.cos(np.pi * np.arange(int(2 * length / WAVE) + 1) * s[:, None] / length))
