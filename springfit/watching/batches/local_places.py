"""How far a batch stands off its forecast at single places along the steel, each a narrow ring, all else unknown.

The same estimate as of a zone, with a ring for the zone: what springback, seat, wall and hands cannot make narrow. Two
things are other than in a zone, for it is the steel that is asked after. Leaves stand between the bell and the steel as
it is by then, which the bell follows: they do not show what the steel has lost, so that no ring is in them. And what
earlier bells taught of this very steel is left in: a version that learned worn bells would else hide their wear.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.facets.finder import Facet
from springfit.watching.batches.predictive import Predictive

__all__ = ["STEP_MM", "LocalPlaces", "facet_places", "local_places"]

Floats = NDArray[np.float64]

STEP_MM = 4.0  # of arc between places; its own width
WIDTH_MM = 4.0  # 1 sd of a ring's shape: a worn crest or a scar is some millimetres wide
# 1 sd of a raised cosine by its width from edge to edge: the root of 1/12 - 1/(2 pi^2)
COSINE_SD = 0.18
# Readings, by the ring's shape, below which a place was not read; more than one reading on the very place
LEAST_WEIGHT = 1.5


@dataclass(frozen=True)
class LocalPlaces:
    """At arcs `arc` (n,) [mm]: height `size` of a ring there with its `sd` [mm]; only places that were read."""

    arc: Floats
    size: Floats
    sd: Floats

    def at(self, arc: float) -> tuple[float, float]:
        """Height and sd at one of the places; nan where it was not read."""
        found = np.flatnonzero(np.abs(self.arc - arc) < STEP_MM / 2.0)
        return (float(self.size[found[0]]), float(self.sd[found[0]])) if found.size else (float("nan"),) * 2


def local_places(predictive: Predictive) -> LocalPlaces:
    """The places of one batch, all along it."""
    arc = predictive.rows("arc")
    places = np.arange(STEP_MM * np.ceil(arc.min() / STEP_MM), arc.max() + 1e-9, STEP_MM)
    return _rings(predictive, places, np.full(len(places), WIDTH_MM))


def facet_places(predictive: Predictive, facets: Sequence[Facet]) -> LocalPlaces:
    """The middle of each facet, by a ring as wide as the facet: what wears it is felt over all of it."""
    widths = [max(COSINE_SD * one.width, WIDTH_MM) for one in facets]
    return _rings(predictive, np.array([one.s for one in facets]), np.array(widths))


def _rings(predictive: Predictive, places: Floats, widths: Floats) -> LocalPlaces:
    shows = predictive.rows("springs") * (1.0 - predictive.rows("felt"))
    rings = np.exp(-0.5 * ((predictive.rows("arc")[:, None] - places) / widths) ** 2) * shows[:, None]
    read = rings.sum(axis=0) >= LEAST_WEIGHT
    places, rings = places[read], rings[:, read]
    solved = predictive.solve(np.column_stack((rings, predictive.rest + predictive.of_steel)))
    information = np.einsum("np,np->p", rings, solved[:, :-1])
    size = (rings.T @ solved[:, -1]) / information
    return LocalPlaces(places, size, information**-0.5)
