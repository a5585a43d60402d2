"""What goes into a release and what comes out: fields at the stations, one or many side by side.

Resultants: forces N_s, N_theta [N/mm] and moments M_s, M_theta [N], positive when the outer face is in tension.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["Release", "release_of", "stacked"]

Array = NDArray[np.float64]

NAMES = ("n_s", "n_theta", "m_s", "m_theta")


@dataclass(frozen=True)
class Release:
    """Displacement of the middle surface at the stations; every quantity (stations,) or (stations, fields).

    unknowns: axial and radial displacement [mm], stretch t.du/ds and rotation n.du/ds (what is added to the slope)
    [-], (stations, 4[, fields]). slope: of the undeformed meridian [rad], (stations,).
    """

    unknowns: Array
    slope: Array

    @property
    def axial(self) -> Array:
        """Motion toward the rim along the axis [mm]."""
        return self.unknowns[:, 0]

    @property
    def radial(self) -> Array:
        """Motion away from the axis [mm]."""
        return self.unknowns[:, 1]

    @cached_property
    def normal(self) -> Array:
        """Motion out of the steel [mm]: the gap, the same on every face of the wall."""
        return _read_only((self.radial.T * np.cos(self.slope) - self.axial.T * np.sin(self.slope)).T)


def stacked(stations: int, *parts: ArrayLike | None) -> tuple[Array, bool]:
    """The four resultants as one array (stations, 4, fields), and whether all were single columns.

    None is zero; a single column goes with every field of the others. Raises ValueError naming the resultant
    whose shape does not fit or that holds a value which is not finite.
    """
    arrays = [np.zeros(stations) if part is None else np.asarray(part, dtype=float) for part in parts]
    for name, a in zip(NAMES, arrays, strict=True):
        if a.ndim not in (1, 2) or a.shape[0] != stations:
            raise ValueError(f"{name}: found shape {a.shape}, expected ({stations},) or ({stations}, fields)")
        if not np.isfinite(a).all():
            raise ValueError(f"{name}: found a value that is not finite, expected a number at every station")
    fields = max(a.shape[1] if a.ndim == 2 else 1 for a in arrays)
    together = np.empty((stations, len(NAMES), fields))
    for row, (name, a) in enumerate(zip(NAMES, arrays, strict=True)):
        if a.ndim == 2 and a.shape[1] not in (1, fields):
            raise ValueError(f"{name}: found {a.shape[1]} fields, expected 1 or {fields} as in the others")
        together[:, row] = a if a.ndim == 2 else a[:, None]
    return together, all(a.ndim == 1 for a in arrays)


def release_of(unknowns: Array, slope: Array, *, single: bool) -> Release:
    """The displacement from the unknowns (stations, 4, fields) and slope (stations,) of the stations."""
    return Release(_read_only(unknowns[..., 0] if single else unknowns), slope)


def _read_only(values: Array) -> Array:
    values.flags.writeable = False
    return values
