"""A fault as a pattern of readings, and the evidence that a batch or a bell shows it.

With springback, seat, wall and hands as unknown as they were beforehand (V), a pattern H of sizes a ~ N(0, S) gains

    log evidence = -1/2 log|I + S H'V^-1 H| + 1/2 p' C p,    C = (S^-1 + H'V^-1 H)^-1,  p = H'V^-1 r

over springback alone: what a pattern wins by fitting it pays for by what it might have been. Of a pattern that may lie
at many places the best counts, less the logarithm of how many were tried.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Pattern", "Shown", "best_of"]

Floats = NDArray[np.float64]

SURELY = 2.0  # sds; 19 times in 20, as is usual


@dataclass(frozen=True)
class Pattern:
    """What one unit of a fault does to the readings: `columns` (rows, c) [mm], each with 1 sd `usual` (c,) of its size
    in `unit` (mm, share, K). `sign` +1 or -1: the other is no fault of this name. `at` stretch of arc [mm] it
    touches; `gauge_id` of the gauge whose fault it is, empty for any other."""

    name: str
    columns: Floats
    usual: Floats
    unit: str
    at: tuple[float, float]
    sign: int = 0
    gauge_id: str = ""
    harmless: float = 0.0
    """Size up to which it is no fault."""


@dataclass(frozen=True)
class Shown:
    """A pattern as the readings show it: `size` and `size_sd` in its unit, `largest` [mm] that it moves a reading, and
    `margin` [nats] of evidence over springback alone, places tried allowed for."""

    pattern: Pattern
    size: float
    size_sd: float
    largest: float
    margin: float

    @property
    def harmless(self) -> bool:
        """Whether it is not surely (two sds) beyond what is no fault."""
        return abs(self.size) - SURELY * self.size_sd < self.pattern.harmless


def best_of(patterns: Sequence[Pattern], rest: Floats, solve: Callable[[Floats], Floats]) -> tuple[Shown, ...]:
    """Each name's best pattern, the one with most evidence first. `rest` residuals (rows,), `solve` V^-1 times
    columns."""
    if not patterns:
        return ()
    stacked = np.hstack([pattern.columns for pattern in patterns])
    solved = solve(np.column_stack((stacked, rest)))
    gram, pull = stacked.T @ solved[:, :-1], stacked.T @ solved[:, -1]
    shown: dict[str, list[Shown]] = {}
    begin = 0
    for pattern in patterns:
        part = slice(begin, begin + pattern.columns.shape[1])
        begin = part.stop
        one = _shown(pattern, gram[part, part], pull[part])
        shown.setdefault(pattern.name, []).append(one)
    best = []
    for tried in shown.values():
        top = max(tried, key=lambda one: one.margin)
        margin = top.margin - float(np.log(len(tried)))
        best.append(Shown(top.pattern, top.size, top.size_sd, top.largest, margin))
    return tuple(sorted(best, key=lambda one: -one.margin))


def _shown(pattern: Pattern, gram: Floats, pull: Floats) -> Shown:
    variance = pattern.usual**2
    covariance = np.linalg.inv(np.diag(1.0 / variance) + gram)
    size = covariance @ pull
    _, log_determinant = np.linalg.slogdet(np.eye(len(pull)) + variance[:, None] * gram)
    margin = 0.5 * float(pull @ size) - 0.5 * float(log_determinant)
    largest = float(np.max(np.abs(pattern.columns @ size)))
    if len(size) > 1:
        sd = float(np.sqrt(covariance.trace() / len(size)))
        return Shown(pattern, float(np.linalg.norm(size)), sd, largest, margin)
    if pattern.sign and np.sign(size[0]) != pattern.sign:
        margin = min(margin, 0.0)
    return Shown(pattern, float(size[0]), float(np.sqrt(covariance[0, 0])), largest, margin)
