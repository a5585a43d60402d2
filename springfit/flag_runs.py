"""Unbroken runs of true flags: stretches of rows that are cut, masked, open, or alike."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["runs_of_true"]


def runs_of_true(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last index of every unbroken run of true flags (n,), in their order."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(int)))
    return [(int(first), int(stop) - 1) for first, stop in zip(edges[::2], edges[1::2], strict=True)]
