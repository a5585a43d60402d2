"""Newton's method for one place of the nose, compiled."""

from __future__ import annotations

__all__ = ["Task", "Trial", "balanced"]

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.kernels.banded import HALF_BAND, PADDING, factorised, substituted
from springfit.mechanics.laying.kernels.compiled import engine_version, entry_point, inner
from springfit.mechanics.laying.kernels.contact import Tool
from springfit.mechanics.laying.kernels.response import Memo, Patience, Scratch, answer

Array = NDArray[np.float64]

MAX_NEWTON_STEPS = 16  # then the step of the nose is halved
# What sets out from a guess is hopeless where so many residuals are known and the last is still a twentieth of the
# larger of the first two: of 1 476 that got there 185 had looked so, of 290 that did not 210
HOPELESS_AFTER, HOPELESS_ABOVE = 5, 0.05
MAX_BACKTRACKS = 3  # a bound on time
ACCEPTED_GROWTH, SHORTENING = 1.2, 0.4  # of the residual before a move is cut, and to what; assumed
LONGEST_MOVE_MM = 0.3  # below a wall, for the contact changes within it; assumed


class Task(NamedTuple):
    """What is to be balanced: points `held` on the steel, the `tool`, nodal forces `outside` (4 m,) per radian [N].

    `damping` [N/mm^3] resists every motion, for a sheet that snaps over; `tolerance` [N] is the largest unbalanced
    nodal force per radian that counts as equilibrium. Where it is `hasty`, what looks hopeless is given up.
    """

    held: NDArray[np.bool_]
    tool: Tool
    outside: Array
    damping: float
    tolerance: float
    patience: Patience
    hasty: bool


class Trial(NamedTuple):
    """What Newton's method writes to: nodal values (m, 4) and history, elements' answers, feet, forces
    (4 m + PADDING,), their stiffness (4 m + PADDING, 8), the largest force of each iteration, and the move
    last made from `base`."""

    nodal: Array
    after: Array
    memo: Memo
    foot: Array
    residual: Array
    band: Array
    norms: Array
    base: Array
    move: Array
    work: Scratch

    @classmethod
    def start(cls, nodal: Array, history: Array, memo: Memo, foot: Array) -> Trial:
        """Copies to begin with."""
        return cls(
            nodal.copy(),
            history.copy(),
            memo.kept(),
            foot.copy(),
            np.zeros(nodal.size + PADDING),
            np.zeros((nodal.size + PADDING, HALF_BAND)),
            np.zeros(MAX_NEWTON_STEPS),
            nodal.copy(),
            np.zeros_like(nodal),
            Scratch.fresh(),
        )


@inner
def _assembled(sheet, start, before, trial, task, look):  # type: ignore[no-untyped-def]
    """Unbalanced forces and stiffness at trial.nodal; the largest force [N], infinite for no shape of a sheet."""
    residual, band, history = trial.residual, trial.band, (before, trial.after)
    for i in range(residual.size):
        residual[i] = 0.0
        for k in range(HALF_BAND):
            band[i, k] = 0.0
    for e in range(sheet.elements.step.size):
        if not answer(e, sheet, history, trial, task, look):
            return math.inf
        row = 4 * e
        for i in range(8):
            residual[row + i] += trial.work.answer[i]
            for k in range(8 - i):
                band[row + i, k] += trial.memo.stiffness[e, i, i + k]
        if task.damping > 0.0:
            _drag(e, trial.nodal, start, sheet, task.damping, residual, band)
    for i in range(task.outside.size):
        residual[i] += task.outside[i]
    # The tail node stays where it is along the axis.
    residual[0], band[0, 0] = 0.0, 1.0
    for k in range(1, HALF_BAND):
        band[0, k] = 0.0
    norm = 0.0
    for i in range(residual.size):
        if not abs(residual[i]) <= norm:
            norm = abs(residual[i])
    return norm


@inner
def _drag(e, nodal, start, sheet, damping, residual, band):  # type: ignore[no-untyped-def]
    """Springs of `damping` [N/mm^3] against what element e has moved from `start`."""
    points = sheet.elements.weight.shape[1]
    for p in range(points):
        value = sheet.elements.shape[e, p, 2]
        reference = sheet.sections.reference[e * points + p]
        spring = damping * reference[0] * reference[2] * sheet.elements.weight[e, p]
        for k in range(2):  # z, then r
            moved = 0.0
            for j in range(4):
                moved += value[j] * (nodal[e + j // 2, k + 2 * (j % 2)] - start[e + j // 2, k + 2 * (j % 2)])
            for j in range(4):
                row = 4 * e + 2 * j + k
                residual[row] += spring * value[j] * moved
                for m in range(j, 4):
                    band[row, 2 * (m - j)] += spring * value[j] * value[m]


@inner
def _moved(start, trial, share):  # type: ignore[no-untyped-def]
    """trial.nodal = trial.base + share * trial.move."""
    for i in range(start.shape[0]):
        for k in range(4):
            trial.move[i, k] *= share
            trial.nodal[i, k] = trial.base[i, k] + trial.move[i, k]


@inner
def _next_move(trial):  # type: ignore[no-untyped-def]
    """Newton's move from trial.nodal, no longer than LONGEST_MOVE_MM; False where the stiffness gives none."""
    if not factorised(trial.band):
        return False
    substituted(trial.band, trial.residual)
    longest = 0.0
    for i in range(trial.nodal.shape[0]):
        for k in range(4):
            trial.base[i, k] = trial.nodal[i, k]
            trial.move[i, k] = -trial.residual[4 * i + k]
            if k < 2 and not abs(trial.move[i, k]) <= longest:
                longest = abs(trial.move[i, k])
    if not longest < math.inf:
        return False
    share = min(1.0, LONGEST_MOVE_MM / max(longest, 1.0e-12))
    _moved(trial.base, trial, share)
    return True


def _balanced_entry(version: str):  # type: ignore[no-untyped-def]
    def balanced(sheet, start, before, trial, task):  # type: ignore[no-untyped-def]
        """Whether equilibrium is reached from nodal values `start` and history `before`, and how many residuals."""
        assert version
        count = backtracks = 0
        while count < MAX_NEWTON_STEPS:
            look = count == 0
            norm = _assembled(sheet, start, before, trial, task, look)
            if norm < task.tolerance and not look:
                norm = _assembled(sheet, start, before, trial, task, not look)  # True would be compiled apart
            finite = norm < math.inf
            if not finite or (count > 1 and norm > ACCEPTED_GROWTH * trial.norms[count - 1]):
                if backtracks < MAX_BACKTRACKS:
                    backtracks += 1
                    _moved(start, trial, SHORTENING)
                    continue
                if not finite:
                    break
            trial.norms[count], backtracks = norm, 0
            count += 1
            if norm < task.tolerance:
                return True, count
            largest = max(trial.norms[0], trial.norms[1])
            if task.hasty and count >= HOPELESS_AFTER and norm > HOPELESS_ABOVE * largest:
                break
            if not _next_move(trial):
                break
        return False, count

    return entry_point(balanced)


balanced = _balanced_entry(engine_version())
