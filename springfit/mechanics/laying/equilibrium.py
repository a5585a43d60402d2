"""Newton's method for one place of the nose, compiled."""

from __future__ import annotations

__all__ = ["Task", "balanced", "forces_and_stiffness"]

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.banded import HALF_BAND, factorised, substituted
from springfit.mechanics.laying.compiled import engine_version, entry_point, inner
from springfit.mechanics.laying.contact import Tool
from springfit.mechanics.laying.response import Patience, answer, scratch
from springfit.mechanics.laying.section import History

Array = NDArray[np.float64]

MAX_NEWTON_STEPS = 16
MAX_BACKTRACKS = 3
ACCEPTED_GROWTH, SHORTENING = 1.2, 0.4  # of the residual before a move is cut, and to what
LONGEST_MOVE_MM = 0.3


class Task(NamedTuple):
    """What is to be balanced: points `held` on the steel, the `tool`, nodal forces `outside` (4 m,) per radian [N].

    `damping` [N/mm^3] resists every motion, for a sheet that snaps over; `tolerance` [N] is the largest unbalanced
    nodal force per radian that counts as equilibrium.
    """

    held: NDArray[np.bool_]
    tool: Tool
    outside: Array
    damping: float
    tolerance: float
    patience: Patience


@inner
def _assembled(nodal, start, sheet, history, memo, foot, task, work, force, residual, band):  # type: ignore[no-untyped-def]
    """Unbalanced forces into `residual` (4 m,) and stiffness into `band` (4 m, 8); False: no shape of a sheet."""
    residual[:] = task.outside
    band[:] = 0.0
    for e in range(sheet.elements.step.size):
        if not answer(e, nodal, sheet, history, memo, foot, task.held, task.tool, task.patience, work, force):
            return False
        stiffness, row = memo.stiffness[e], 4 * e
        for i in range(8):
            residual[row + i] += force[i]
            for j in range(i + 1):
                band[row + i, i - j] += stiffness[i, j]
        if task.damping > 0.0:
            _drag(e, nodal, start, sheet, task.damping, residual, band)
    return True


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
                for m in range(j + 1):
                    band[row, 2 * (j - m)] += spring * value[j] * value[m]


@inner
def _fixed(residual, band):  # type: ignore[no-untyped-def]
    """The tail node stays where it is along the axis."""
    residual[0] = 0.0
    band[0, 0] = 1.0
    for k in range(1, HALF_BAND):
        band[k, k] = 0.0


@inner
def _copied(history):  # type: ignore[no-untyped-def]
    return History(
        history.plastic_s.copy(), history.plastic_hoop.copy(), history.equivalent.copy(), history.flow.copy()
    )


@inner
def _newton(sheet, start, before, memo, foot, task):  # type: ignore[no-untyped-def]
    size = start.size
    residual, band, norms = np.empty(size), np.empty((size, HALF_BAND)), np.empty(MAX_NEWTON_STEPS)
    nodal, base, move = start.copy(), start.copy(), np.zeros(start.shape)
    after, work, force = _copied(before), scratch(), np.empty(8)
    count = backtracks = 0
    while count < MAX_NEWTON_STEPS:
        shaped = _assembled(
            nodal, start, sheet, (before, after), memo, foot, task, work, force, residual, band
        )
        norm = math.inf
        if shaped:
            _fixed(residual, band)
            norm = np.max(np.abs(residual))
        if not norm < math.inf or (count > 1 and norm > ACCEPTED_GROWTH * norms[count - 1]):
            if backtracks < MAX_BACKTRACKS:
                backtracks += 1
                move *= SHORTENING
                nodal = base + move
                continue
            if not norm < math.inf:
                break
        norms[count], backtracks = norm, 0
        count += 1
        if norm < task.tolerance:
            return True, nodal, after, norms[:count]
        if not factorised(band):
            break
        substituted(band, residual)
        move = -residual.reshape(start.shape)
        longest = np.max(np.abs(move[:, :2]))
        if not longest < math.inf:
            break
        move *= min(1.0, LONGEST_MOVE_MM / max(longest, 1.0e-12))
        base = nodal
        nodal = nodal + move
    return False, nodal, after, norms[:count]


def _balanced_entry(version: str):  # type: ignore[no-untyped-def]
    def balanced(sheet, start, before, memo, foot, task):  # type: ignore[no-untyped-def]
        """(reached, nodal, history after, residuals) from nodal values `start`; `memo` and `foot` are written to."""
        assert version
        return _newton(sheet, start, before, memo, foot, task)

    return entry_point(balanced)


def _forces_entry(version: str):  # type: ignore[no-untyped-def]
    def forces_and_stiffness(sheet, nodal, before, memo, foot, task):  # type: ignore[no-untyped-def]
        """(residual, band, history after) at `nodal` (m, 4); `memo` and `foot` are written to."""
        assert version
        residual, band = np.empty(nodal.size), np.empty((nodal.size, HALF_BAND))
        after, work, force = _copied(before), scratch(), np.empty(8)
        if not _assembled(
            nodal, nodal, sheet, (before, after), memo, foot, task, work, force, residual, band
        ):
            residual[:] = math.nan
        return residual, band, after

    return entry_point(forces_and_stiffness)


balanced = _balanced_entry(engine_version())
forces_and_stiffness = _forces_entry(engine_version())
