"""Whether and when the mean of a sequence broke: one break, by least squares, and how sure its place is.

With flat priors on both means and on log sigma the place of a break after value k of n has the posterior

    p(k) ~ (k (n - k))^(-1/2) RSS(k)^(-(n - 2) / 2)

(Smith 1975, Biometrika 62, 407-416). A break is there when it lowers BIC = n log(RSS / n) + p log n, up to a constant.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["LEAST", "ChangePoint", "change_point"]

Floats = NDArray[np.float64]

LEAST = 3  # values; two means of fewer are two values


@dataclass(frozen=True)
class ChangePoint:
    """A break after value number `after` (counting from 1): means `before` and `behind` it, residual sums of squares
    with and without it, how much lower its `bic` is (+ speaks for it), and the `posterior` (n - 1,) of its place."""

    after: int
    before: float
    behind: float
    squares: float
    squares_without: float
    bic_lower: float
    posterior: Floats

    def interval(self, level: float = 0.95) -> tuple[int, int]:
        """The shortest run of places that holds the break with probability `level`."""
        total = np.concatenate(([0.0], np.cumsum(self.posterior)))
        best = (1, len(self.posterior))
        for low in range(len(self.posterior)):
            high = int(np.searchsorted(total, total[low] + level - 1e-12))
            if high <= len(self.posterior) and high - low < best[1] - best[0] + 1:
                best = (low + 1, high)
        return best


def change_point(values: Sequence[float] | Floats) -> ChangePoint:
    """The likeliest single break in the mean of `values`. Raises ValueError for fewer than three."""
    given = np.asarray(values, dtype=float)
    count = given.size
    if count < LEAST:
        raise ValueError(f"found {count} values, expected at least {LEAST}")
    centred = given - given.mean()
    number = np.arange(1, count)
    first = np.cumsum(centred)[:-1]
    without = float(centred @ centred)
    squares = np.maximum(without - first**2 * (1.0 / number + 1.0 / (count - number)), 1e-300)
    log = -0.5 * np.log(number * (count - number)) - 0.5 * (count - 2) * np.log(squares)
    posterior = np.exp(log - log.max())
    at = int(np.argmin(squares))
    lower = count * np.log(without / squares[at]) - 2.0 * np.log(count)  # a mean more, and the place of the break
    return ChangePoint(
        at + 1, float(given[: at + 1].mean()), float(given[at + 1 :].mean()), float(squares[at]), without,
        float(lower), posterior / posterior.sum(),
    )  # fmt: skip
