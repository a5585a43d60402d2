"""One zone's scores in the order of its batches, charted: three questions to a number, and one state for each batch.

A single value past its limit, a small lasting shift (cumulative sum), a drift (weighted mean). Scores are normal by the
forecast; how wide they truly run is learned from those that came before, with a few beforehand at one, so that a
forecast that is too sure of itself does not alarm for ever. Before three batches there are no limits.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.watching.charts.cumulative_sum import CumulativeSum, cumulative_sum
from springfit.watching.charts.weighted_mean import WeightedMean, weighted_mean

__all__ = ["LEAST_EARLIER", "ControlChart", "control_chart"]

Floats = NDArray[np.float64]

LEAST_EARLIER = 3  # batches before a limit is drawn: two means do not tell how batches differ
WATCH, STOP = 3.0, 4.0  # normal deviates: once in 370 values, once in 16 000
# A head start is for a process that may begin out of its state: after a signal, whose cause may not have been found. A
# mandrel's first batches teach what is usual on it, and there is no state for them to have left.
NO_HEAD_START = 0.0
BEFOREHAND = 8.0  # values that the forecast's own width counts as; assumed
# Squares count up to so many times the width squared, or one fault would blind the chart; as far as `WATCH`
WIDEST = 3.0


@dataclass(frozen=True)
class ControlChart:
    """`scores` (n,) as they came and `standard` (n,) by the width of those before (nan before there are limits), the
    sums and weighted means of these, and a `state` (n,): "", usual, watch or stop, with what gave it: value, sum or
    mean."""

    scores: Floats
    standard: Floats
    sums: CumulativeSum
    means: WeightedMean
    state: tuple[str, ...]
    by: tuple[str, ...]


def control_chart(
    scores: Sequence[float], earlier: Sequence[int], left_out: Sequence[bool] | None = None
) -> ControlChart:
    """Charts `scores` (n,), oldest first; `earlier` (n,) counts the batches that each forecast rests on. left_out:
    named faults, which are judged by their own value and do not move the chart."""
    given = np.asarray(scores, dtype=float)
    skip = np.asarray(left_out if left_out is not None else [False] * len(scores))
    limited = (np.asarray(earlier) >= LEAST_EARLIER) & np.isfinite(given)
    standard = np.full(len(given), np.nan)
    total, count = BEFOREHAND, BEFOREHAND
    for place, value in enumerate(given):
        if not limited[place]:
            continue
        width = np.sqrt(total / count)
        standard[place] = value / max(width, 1.0)
        if not skip[place]:
            total, count = total + min(value**2, (WIDEST * width) ** 2), count + 1.0
    counted = np.where(np.isfinite(standard) & ~skip, standard, 0.0)
    sums, means = cumulative_sum(counted, head_start=NO_HEAD_START), weighted_mean(counted)
    states = [_state(standard[i], sums.signal[i], means.signal[i], limited[i]) for i in range(len(given))]
    return ControlChart(given, standard, sums, means, tuple(s for s, _ in states), tuple(b for _, b in states))


def _state(value: float, of_sum: int, of_mean: int, limited: bool) -> tuple[str, str]:
    if not limited:
        return "", ""
    if abs(value) > WATCH:
        return ("stop" if abs(value) > STOP else "watch"), "value"
    if of_sum:
        return "watch", "sum"
    return ("watch", "mean") if of_mean else ("usual", "")
