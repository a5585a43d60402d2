"""How far a batch stands off its forecast at single places along the steel, each a narrow ring, all else unknown.

The same estimate as of a zone, with a ring for the zone: what springback, seat, wall and hands cannot make narrow.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.watching.batches.predictive import Predictive

__all__ = ["STEP_MM", "LocalPlaces", "local_places"]

Floats = NDArray[np.float64]

STEP_MM = 4.0  # of arc between places; its own width
WIDTH_MM = 4.0  # 1 sd of a ring's shape: a worn crest or a scar is some millimetres wide
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
    """The places of one batch."""
    arc, springs = predictive.rows("arc"), predictive.rows("springs")
    places = np.arange(STEP_MM * np.ceil(arc.min() / STEP_MM), arc.max() + 1e-9, STEP_MM)
    rings = np.exp(-0.5 * ((arc[:, None] - places[None, :]) / WIDTH_MM) ** 2) * springs[:, None]
    read = rings.sum(axis=0) >= LEAST_WEIGHT
    places, rings = places[read], rings[:, read]
    solved = predictive.solve(np.column_stack((rings, predictive.rest)))
    information = np.einsum("np,np->p", rings, solved[:, :-1])
    size = (rings.T @ solved[:, -1]) / information
    return LocalPlaces(places, size, information**-0.5)
