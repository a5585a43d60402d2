"""Where a sequence changes its slope: the trend filter's whole path, from a straight line to as many knots as asked.

Among all straight lines that bend at the places of the sequence, the fit minimises

    1/2 sum (y - x)^2 + penalty * sum |change of slope|

(Kim, Koh, Boyd & Gorinevsky, l1 trend filtering, SIAM Review 51, 2009, 339-360). Written with one hinge a place it is a
lasso, whose path of least angles (Efron, Hastie, Johnstone & Tibshirani 2004) gives every set of knots in turn.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from sklearn.linear_model import lars_path

from springfit.geometry.points import FloatArray

__all__ = ["TrendPath", "trend_path"]


@dataclass(frozen=True)
class TrendPath:
    """penalties (steps,), falling; knots: for each step the places (indices into x) where the line bends."""

    penalties: FloatArray
    knots: tuple[tuple[int, ...], ...]

    @property
    def largest(self) -> float:
        """The penalty from which on the fit is the least-squares line."""
        return float(self.penalties[0])


def trend_path(x: FloatArray, y: FloatArray, *, most: int) -> TrendPath:
    """The path of values y (n,) at places x (n,) until it has `most` knots.

    Raises ValueError when there are fewer than 4 places or x does not increase.
    """
    if x.size < 4 or x.size != y.size or np.any(np.diff(x) <= 0):
        raise ValueError(
            f"{x.size} places and {y.size} values, expected as many of each, at least 4, x increasing"
        )
    straight, _ = np.linalg.qr(np.column_stack((np.ones_like(x), x)))
    hinges = np.maximum(x[:, None] - x[None, 1:-1], 0.0)
    free = hinges - straight @ (straight.T @ hinges)
    left = y - straight @ (straight.T @ y)
    alphas, _, sizes = lars_path(free, left, method="lasso", max_iter=3 * most)
    steps = [tuple(int(i) + 1 for i in np.flatnonzero(column)) for column in sizes.T]
    count = next((i for i, knots in enumerate(steps) if len(knots) > most), len(steps))
    return TrendPath(np.asarray(alphas[:count]) * x.size, tuple(steps[:count]))
