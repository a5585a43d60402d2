"""The median of all the others, for each of a few hundred or thousand values at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["others_median"]


def others_median(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """For each of the known `values` (n,) the median of the n - 1 others; NaN of a single one.

    With the values in order, leaving out the one of rank r moves all that come after it down by one rank.
    """
    count = len(values) - 1
    if count < 1:
        return np.full(len(values), np.nan)
    order = np.argsort(values, kind="stable")
    ordered, rank = values[order], np.empty(len(values), dtype=np.intp)
    rank[order] = np.arange(len(values))
    low, high = (count - 1) // 2, count // 2
    return (ordered[low + (low >= rank)] + ordered[high + (high >= rank)]) / 2
