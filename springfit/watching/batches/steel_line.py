"""What a page needs of the steel a batch was spun on: where each arc lies along the axis, and the facets on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from springfit.geometry.facets.finder import Facet, FacetFinder
from springfit.geometry.meridian import Meridian
from springfit.learning.data.mandrel_steel import STEEL_ERROR_MM

__all__ = ["SteelLine", "facets_of_steel"]

Floats = NDArray[np.float64]

PLACES = 241  # of arc: a millimetre or two apart, where z runs straight to a micron or so but for a flat rim
# A corner is felt by the sheet about two decay lengths of an edge (`mechanics.shell.decay`) either way, each 3.5 mm at
# 40 mm radius in 0.5 mm sheet
LEAST_HALF_MM = 6.0


@dataclass(frozen=True)
class SteelLine:
    """Stations z (n,) [mm] at arcs `arc` (n,) [mm] from the tail, and the `facets` of the steel."""

    arc: Floats
    z: Floats
    facets: tuple[Facet, ...] = ()

    @classmethod
    def of(cls, steel: Meridian, facets: tuple[Facet, ...] = ()) -> SteelLine:
        """The line of measured steel."""
        arc = np.linspace(0.0, steel.length, PLACES)
        return cls(arc, np.asarray(steel.at(arc).z), facets)

    @property
    def length(self) -> float:
        """Arc from tail to rim [mm]."""
        return float(self.arc[-1])

    @property
    def stretches(self) -> tuple[tuple[float, float], ...]:
        """The stretch of arc [mm] of each facet."""
        halves = [max(one.width / 2.0, LEAST_HALF_MM) for one in self.facets]
        return tuple((one.s - half, one.s + half) for one, half in zip(self.facets, halves, strict=True))

    def z_at(self, arc: ArrayLike) -> Floats:
        """Stations [mm] at arcs [mm], the end's own past an end."""
        return np.asarray(np.interp(np.asarray(arc, dtype=float), self.arc, self.z), dtype=np.float64)


def facets_of_steel(steel: Meridian, z: Floats, diameter: Floats) -> tuple[Facet, ...]:
    """The facets of measured steel, tail to rim; z and diameter (n,) [mm] its stations as measured."""
    return FacetFinder(steel, z, diameter, diameter_error=STEEL_ERROR_MM).facets
