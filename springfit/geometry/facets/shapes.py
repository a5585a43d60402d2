"""Terms of a mandrel's curvature: a join of two arcs, a hollow, and the plain change from one arc to the next.

A facet is a local excess of curvature over the fair flare around it. Two shapes are tried: a *join*, where two arcs
meet at an angle that is rounded over a few millimetres, and a *hollow*, a raised cosine let into the flare; either may
also stand out of it (a negative size). A *change* is what one arc running smoothly into another shows: it is fair.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.special import erf

from springfit.geometry.points import FloatArray

__all__ = ["GAUGE_LENGTH", "Shape", "Term"]

Shape = Literal["join", "hollow", "change"]

GAUGE_LENGTH = 38.0  # [mm] of the straightedge a join's depth is read under: as long as a shallow dish
HALF_HEIGHT = np.sqrt(8 * np.log(2))  # width at half height of a normal curve, in its standard deviations
CHANGE_LENGTH = 4.0  # [mm] over which one arc turns into the next; as a corner is rounded; assumed
JOIN_FELT = 60.0  # [mm] on either side over which a join has the line off the fair flare; assumed
# 1 sd of a size beforehand: [rad], [mm], [1/mm]; a degree, four thou, an arc of 200 mm radius beginning; assumed
_USUAL = {"join": 0.02, "hollow": 0.1, "change": 5e-3}


@dataclass(frozen=True)
class Term:
    """A shape at `place` [mm of arc]; width [mm]: a join's curvature at half height, a hollow from edge to edge."""

    shape: Shape
    place: float
    width: float

    @property
    def usual(self) -> float:
        """1 sd of its size before anything is measured: a turn [rad], a depth [mm], a curvature [1/mm]."""
        return _USUAL[self.shape]

    def curvature(self, s: FloatArray) -> FloatArray:
        """Curvature [1/mm] at s [mm] of a size of one: 1 rad of turn, 1 mm of depth, or 1/mm."""
        x = s - self.place
        if self.shape == "join":
            sigma = self.width / HALF_HEIGHT
            return np.asarray(np.exp(-0.5 * (x / sigma) ** 2) / (sigma * np.sqrt(2 * np.pi)))
        if self.shape == "hollow":
            wave = 2 * np.pi / self.width
            return np.where(np.abs(x) <= self.width / 2, 0.5 * wave**2 * np.cos(wave * x), 0.0)
        return np.clip(x / CHANGE_LENGTH + 0.5, 0.0, 1.0)

    def turned(self, s: FloatArray) -> FloatArray:
        """Angle [rad] by which a facet of size one has turned the line at s [mm] from the fair flare around it.

        Across a join the line turns from half its angle below the flare to half above it, and falls back in with it.
        A change turns nothing: what follows it is fair.
        """
        x = s - self.place
        if self.shape == "join":
            sigma = self.width / HALF_HEIGHT
            return np.asarray(0.5 * erf(x / (sigma * np.sqrt(2))) * np.exp(-((x / JOIN_FELT) ** 2)))
        if self.shape == "hollow":
            wave = 2 * np.pi / self.width
            return np.where(np.abs(x) <= self.width / 2, 0.5 * wave * np.sin(wave * x), 0.0)
        return np.zeros_like(x)

    @property
    def reach(self) -> float:
        """Length [mm] of flare a depth is read over: the gauge's across a join, a hollow's own width."""
        return GAUGE_LENGTH if self.shape == "join" else self.width

    def depth(self, size: float) -> float:
        """Depth [mm] of a facet of that size under a straightedge, beyond what the flare's own curve gives.

        A join of angle a, rounded as a normal curve of sd g, under a straightedge of length L that spans it:
        a (L/4 - g / sqrt(2 pi)). A hollow: its depth.
        """
        if self.shape == "hollow":
            return abs(size)
        sigma = self.width / HALF_HEIGHT
        return float(abs(size) * (GAUGE_LENGTH / 4 - sigma / np.sqrt(2 * np.pi)))

    def kink(self, size: float) -> float:
        """Angle [rad] between its steepest flanks, + where the flare turns outward; 2 pi depth/width of a hollow."""
        return size * (1.0 if self.shape == "join" else 2 * np.pi / self.width)
