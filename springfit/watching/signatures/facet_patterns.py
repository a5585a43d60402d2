"""What a facet that came off otherwise leaves in the gap curve: washed out, the metal lifted off it, or the steel worn.

Washed out: the bell has less of the facet than its batch should keep, down to none; the motion that makes the facet
shallower, beside a corner back to the flare over some 60 mm. Lifted: the sheet did not reach the steel there, a bulge
as long as the facet. Over a hollow both are nearly one curve; then they are named together, and a straightedge tells.
Worn: the steel has lost as much, and the bell with it; leaves between the two do not feel it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.facets.finder import Facet
from springfit.watching.signatures.pattern import Pattern

__all__ = ["facet_patterns", "worn_patterns"]

Floats = NDArray[np.float64]

LOST = 0.5  # of its depth, 1 sd: anything from nothing lost to all of it
LIFTED = 1.0  # times its depth, 1 sd: a sheet that bridges a hollow stands off by so much
# Of a bulge, edge to edge: shorter ones a free sheet of half a millimetre does not make; some decay lengths of an edge;
# assumed
LEAST_LONG_MM = 20.0
WORN_MM = 0.05  # 1 sd of what a crest has lost; two thou, which a shop would want to know of; assumed
STEP_MM = 0.5  # of the grid a facet's motion is worked out on; assumed fine enough


def facet_patterns(
    arc: Floats, springs: Floats, facets: Sequence[Facet], length: float
) -> Iterator[Pattern]:
    """The patterns of every facet that a bell has otherwise, on readings at `arc` (rows,) [mm]; `springs` (rows,) 0 for
    readings that no gap moves; `length` [mm] of the steel."""
    grid = np.arange(0.0, length + STEP_MM, STEP_MM)
    for facet in facets:
        if not facet.tells_depth or facet.depth <= 0.0:
            continue
        shallower = np.interp(arc, grid, facet.deepened(grid, -1.0)) * springs
        yield Pattern(
            "facet_washed_out", shallower[:, None], np.array([LOST * facet.depth]), "mm", _ends(facet), sign=1
        )
        bulge = _bulge(arc, facet) * springs
        yield Pattern("facet_lifted", bulge[:, None], np.array([LIFTED * facet.depth]), "mm", _ends(facet), sign=1)


def worn_patterns(arc: Floats, shows: Floats, facets: Sequence[Facet]) -> Iterator[Pattern]:
    """The patterns of steel that is worn at a facet; `shows` (rows,) 0 for readings that do not show what it lost."""
    for facet in facets:
        worn = _bulge(arc, facet) * shows
        yield Pattern("worn_facet", worn[:, None], np.array([WORN_MM]), "mm", _ends(facet), sign=-1)


def _ends(facet: Facet) -> tuple[float, float]:
    half = max(facet.width, LEAST_LONG_MM) / 2.0
    return facet.s - half, facet.s + half


def _bulge(arc: Floats, facet: Facet) -> Floats:
    """A raised cosine as long as the facet, (rows,)."""
    low, high = _ends(facet)
    away = np.clip((arc - facet.s) / (high - low), -0.5, 0.5)
    return np.asarray(0.5 * (1.0 + np.cos(2.0 * np.pi * away)))
