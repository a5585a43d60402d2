"""The tabular cumulative sum with a head start: small lasting shifts that no single value shows.

    C+_i = max(0, C+_(i-1) + z_i - k),   C-_i = max(0, C-_(i-1) - z_i - k),   signal where either passes h,

both begun at h/2 (Lucas & Crosier 1982, Technometrics 24, 199-205), so that a shift there from the beginning shows
early; after a signal they begin anew, for the next question is whether the cause was found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["CumulativeSum", "cumulative_sum"]

Floats = NDArray[np.float64]

# A shift of one standard deviation is seen in ten batches and a false alarm comes once in 465 (run lengths of
# tests/reference/watching/run_lengths.py): the usual pair.
REFERENCE, DECISION = 0.5, 5.0


@dataclass(frozen=True)
class CumulativeSum:
    """`high` and `low` sums (n,), both >= 0, and `signal` (n,): +1 or -1 where one passes the decision limit."""

    high: Floats
    low: Floats
    signal: NDArray[np.intp]


def cumulative_sum(
    values: Sequence[float] | Floats,
    *,
    reference: float = REFERENCE,
    decision: float = DECISION,
    head_start: float | None = None,
    restart: bool = True,
) -> CumulativeSum:
    """Sums of standardised `values` (n,). head_start: where both begin, half the decision limit unless said. restart:
    begin anew at half of it after a signal, as a watch does; published tables run on."""
    begin = decision / 2.0 if head_start is None else head_start
    high, low = np.zeros(len(values)), np.zeros(len(values))
    signal = np.zeros(len(values), dtype=np.intp)
    up, down = begin, begin
    for place, value in enumerate(values):
        up, down = max(0.0, up + value - reference), max(0.0, down - value - reference)
        high[place], low[place] = up, down
        if max(up, down) > decision:
            signal[place] = 1 if up > decision else -1
            if restart:
                up, down = decision / 2.0, decision / 2.0
    return CumulativeSum(high, low, signal)
