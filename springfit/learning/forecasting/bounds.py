"""Forecasts held to what physics allows: shares within yield at every station, bands within the elastic envelope."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from springfit.learning.basis.stress_basis import Shares, StressBasis
from springfit.mechanics.shell.limits import LARGEST_SHARE, USEFUL_HOOP

__all__ = ["excess_motion", "yielded"]

Floats = NDArray[np.float64]

# Lowest and highest share of flow stress. Hoop counts the flow stress of the sheet at 10 % strain, the worked rim may
# hold up to twice the useful range of a study that counted it before laying.
BOUNDS = {
    "hoop": (2 * USEFUL_HOOP[0], 2 * USEFUL_HOOP[1]),
    "meridional": (-LARGEST_SHARE, LARGEST_SHARE),
    "moment": (-LARGEST_SHARE, LARGEST_SHARE),
    "hoop_moment": (-LARGEST_SHARE, LARGEST_SHARE),
}


def yielded(shares: Shares) -> Shares | None:
    """The part of shares (n, 1) beyond what can be locked in, station by station; None where there is none."""
    past = {}
    for share, (low, high) in BOUNDS.items():
        value: Floats = getattr(shares, share)
        past[share] = value - np.clip(value, low, high)
    return Shares(**past) if any(np.any(value) for value in past.values()) else None


def excess_motion(basis: StressBasis, k: Floats) -> tuple[Floats, Floats]:
    """Normal and axial motion (n,) [mm] that coefficients `k` (columns,) ask for beyond yield: to be taken off."""
    past = yielded(basis.shares.of(k))
    if past is None:
        return np.zeros_like(basis.arc), np.zeros_like(basis.arc)
    normal, axial = basis.released(past)
    return normal[:, 0], axial[:, 0]
