"""What a page needs of the steel a batch was spun on: where each arc lies along the axis."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from springfit.geometry.meridian import Meridian

__all__ = ["SteelLine"]

Floats = NDArray[np.float64]

PLACES = 241  # of arc: a millimetre or two apart, where z runs straight to a micron or so but for a flat rim


@dataclass(frozen=True)
class SteelLine:
    """Stations z (n,) [mm] at arcs `arc` (n,) [mm] from the tail; `facets` of the steel, stretches of arc [mm]."""

    arc: Floats
    z: Floats
    facets: tuple[tuple[float, float], ...] = ()

    @classmethod
    def of(cls, steel: Meridian, facets: tuple[tuple[float, float], ...] = ()) -> SteelLine:
        """The line of measured steel."""
        arc = np.linspace(0.0, steel.length, PLACES)
        return cls(arc, np.asarray(steel.at(arc).z), facets)

    @property
    def length(self) -> float:
        """Arc from tail to rim [mm]."""
        return float(self.arc[-1])

    def z_at(self, arc: ArrayLike) -> Floats:
        """Stations [mm] at arcs [mm], the end's own past an end."""
        return np.asarray(np.interp(np.asarray(arc, dtype=float), self.arc, self.z), dtype=np.float64)
