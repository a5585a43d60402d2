"""Forecasts held to what physics allows: shares within yield at every station."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from springfit.learning.basis.stress_basis import Shares, StressBasis
from springfit.mechanics.shell.limits import LARGEST_SHARE

__all__ = ["excess_motion", "yielded"]

Floats = NDArray[np.float64]

# Largest share of the flow stress that is the unit of the shares, that of the sheet at 10 % strain. A wall let go holds
# at most LARGEST_SHARE of the flow stress it then has; finite-element bells had strained by up to 12 % on the mean, and
# annealed sheet at a rim worked harder hardens by half as much again, so the bound is that much wider.
HARDENED = 1.5
LARGEST = HARDENED * LARGEST_SHARE


def yielded(shares: Shares) -> Shares | None:
    """The part of shares (n, 1) beyond what can be locked in, station by station; None where there is none."""
    past = {share.name: _past(getattr(shares, share.name)) for share in fields(shares)}
    return Shares(**past) if any(np.any(value) for value in past.values()) else None


def _past(value: Floats) -> Floats:
    return np.asarray(value - np.clip(value, -LARGEST, LARGEST))


def excess_motion(basis: StressBasis, k: Floats) -> tuple[Floats, Floats]:
    """Normal and axial motion (n,) [mm] that coefficients `k` (columns,) ask for beyond yield: to be taken off."""
    past = yielded(basis.shares.of(k))
    if past is None:
        return np.zeros_like(basis.arc), np.zeros_like(basis.arc)
    normal, axial = basis.released(past)
    return normal[:, 0], axial[:, 0]
