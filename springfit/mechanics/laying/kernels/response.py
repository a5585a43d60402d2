"""What each element answers to a motion, worked out anew only where that tells something new.

Most of the sheet hardly moves while the nose goes one step on: there an element's last answer, carried on linearly, is
as good as a new one. It is taken while no layer can have come to yield, nothing has come into touch and the turn is
small enough for its square not to matter.
"""

from __future__ import annotations

__all__ = ["Memo", "Patience", "Scratch", "Sheet", "answer"]

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.kernels.compiled import inner
from springfit.mechanics.laying.kernels.contact import SOFT_START_MM, Steel, contact_forces
from springfit.mechanics.laying.kernels.element import Elements, add_to_element, point_of, shape_hessian
from springfit.mechanics.laying.kernels.evenness import add_evenness
from springfit.mechanics.laying.kernels.section import Sections, section_forces

Array = NDArray[np.float64]


class Sheet(NamedTuple):
    """The sheet and its steel for compiled code; `half_wall` [mm], `unevenness` (elements,) unstressed."""

    elements: Elements
    sections: Sections
    steel: Steel
    half_wall: float
    unevenness: Array


class Memo(NamedTuple):
    """The last answer of every element: where it was worked out (2 elements, 4), nodal forces (elements, 8) and
    stiffness (elements, 8, 8) there, how far it was from yielding [-] and from touching [mm], how many of its points
    were held (-1: never worked out), and whether it was worked out during this step."""

    place: Array
    force: Array
    stiffness: Array
    spare: Array
    clear: Array
    held: NDArray[np.int64]
    new: NDArray[np.bool_]

    @classmethod
    def empty(cls, count: int) -> Memo:
        """Nothing worked out yet."""
        return cls(
            np.zeros((2 * count, 4)), np.zeros((count, 8)), np.zeros((count, 8, 8)), np.zeros(count), np.zeros(count),
            np.full(count, -1, dtype=np.int64), np.zeros(count, dtype=np.bool_),
        )  # fmt: skip

    def kept(self) -> Memo:
        """A copy in which nothing was worked out during this step."""
        return Memo(
            self.place.copy(), self.force.copy(), self.stiffness.copy(), self.spare.copy(), self.clear.copy(),
            self.held.copy(), np.zeros(len(self.new), dtype=np.bool_),
        )  # fmt: skip


class Patience(NamedTuple):
    """When the last answer will do: strain that may pass unseen, turn [rad] and slide of held points [mm].

    All 0: never.
    """

    strain: float
    turn: float
    slide: float


class Scratch(NamedTuple):
    """Small arrays of one evaluation: y and its change, nodal move, forces by q, their tangent, dq/dy, gradient and
    hessian by y, and the nodal forces that are the answer."""

    y: Array
    change: Array
    moved: Array
    force: Array
    tangent: Array
    first: Array
    gradient: Array
    hessian: Array
    answer: Array

    @classmethod
    def fresh(cls) -> Scratch:
        """Allocated."""
        return cls(*(np.zeros(shape) for shape in ((6,), (6,), (2, 4), (4,), (4, 4), (4, 6), (6,), (6, 6), (8,))))


@inner
def answer(e, sheet, history, trial, task, look):  # type: ignore[no-untyped-def]
    """Nodal forces of element e at trial.nodal into trial.work.answer (8,); False where it is no shape of a sheet.

    The stiffness is trial.memo.stiffness[e]. `history` is the pair before and after the step. Without `look` an
    element not yet worked out in this step is taken to answer linearly still.
    """
    nodal, memo, work, tool = trial.nodal, trial.memo, trial.work, task.tool
    points = sheet.elements.weight.shape[1]
    count = points + 1
    if tool.touching:
        count = 0
        for p in range(points):
            count += task.held[e * points + p]
    for j in range(8):
        work.moved[j // 4, j % 4] = nodal[e + j // 4, j % 4] - memo.place[2 * e + j // 4, j % 4]
    # Let go, what yielded in the last step unloads, and its last stiffness would be far too soft for that.
    unloads = not tool.touching and memo.spare[e] == 0.0 and not memo.new[e]
    stale = memo.held[e] != count or unloads
    asked = look or memo.new[e]
    if stale or (asked and not _still_good(e, sheet, memo, tool, task.patience, work)):
        memo.held[e] = -1
        if not _worked_out(e, sheet, history, trial, task):
            return False
        memo.held[e], memo.new[e] = count, True
        for i in range(8):
            work.moved[i // 4, i % 4] = 0.0
    for i in range(8):
        work.answer[i] = memo.force[e, i]
    for j in range(8):
        moved = work.moved[j // 4, j % 4]
        if moved != 0.0:
            for i in range(8):
                work.answer[i] += memo.stiffness[e, j, i] * moved
    return True


@inner
def _still_good(e, sheet, memo, tool, patience, work):  # type: ignore[no-untyped-def]
    """Whether the last answer of element e will do after `work.moved`."""
    points = sheet.elements.weight.shape[1]
    free = tool.touching and memo.held[e] < points
    if patience.turn == 0.0 or (free and memo.clear[e] == 0.0):
        return False
    allowed = max(memo.spare[e], patience.strain)
    y, d = work.y, work.change
    for p in range(points):
        point_of(sheet.elements.shape, e, p, memo.place, 2 * e, y)
        point_of(sheet.elements.shape, e, p, work.moved, 0, d)
        square = y[0] * y[0] + y[3] * y[3]
        length = math.sqrt(square)
        along = (y[0] * d[0] + y[3] * d[3]) / square
        turn = abs(y[0] * d[3] - y[3] * d[0]) / square
        twist = y[0] * d[4] + y[4] * d[0] - y[3] * d[1] - y[1] * d[3] - 3.0 * along * (y[0] * y[4] - y[3] * y[1])
        strain = abs(along) + sheet.half_wall * abs(twist) / (square * length)
        strain += (abs(d[5]) + sheet.half_wall * turn) / y[5]
        if strain > allowed or turn > patience.turn:
            return False
        slid = math.hypot(d[2], d[5])
        if slid > patience.slide if not free else slid > memo.clear[e]:
            return False
        if free and tool.radius > 0.0:
            far = math.hypot(y[2] + d[2] - tool.z, y[5] + d[5] - tool.r)
            if far < tool.radius + sheet.half_wall + SOFT_START_MM:
                return False
    return True


@inner
def _worked_out(e, sheet, history, trial, task):  # type: ignore[no-untyped-def]
    """Element e from the wall's layers and what touches it, into trial.memo and the history after the step."""
    nodal, memo, work = trial.nodal, trial.memo, trial.work
    points = sheet.elements.weight.shape[1]
    for i in range(8):
        memo.place[2 * e + i // 4, i % 4] = nodal[e + i // 4, i % 4]
        memo.force[e, i] = 0.0
        for j in range(8):
            memo.stiffness[e, i, j] = 0.0
    spare, clear = math.inf, math.inf
    y = work.y
    for p in range(points):
        i = e * points + p
        point_of(sheet.elements.shape, e, p, nodal, e, y)
        a = math.hypot(y[0], y[3])
        kappa = (y[0] * y[4] - y[3] * y[1]) / (a * a * a)
        left = section_forces(
            i, a, kappa, y[5], y[0] / a, sheet.sections, history[0], history[1], work.force, work.tangent
        )
        if not left >= 0.0:
            return False
        spare = min(spare, left)
        shape_hessian(y, work.force, work.tangent, work.first, work.gradient, work.hessian)
        if task.tool.touching:
            clear = min(clear, _touched(i, sheet, trial, task))
        add_to_element(e, p, sheet.elements, work.gradient, work.hessian, memo.force, memo.stiffness)
    add_evenness(e, nodal, sheet, memo.force, memo.stiffness)
    memo.spare[e] = spare / sheet.sections.metal.kx
    memo.clear[e] = clear
    return True


@inner
def _touched(i, sheet, trial, task):  # type: ignore[no-untyped-def]
    """Contact at point i added to gradient and hessian by y; how far it is from the steel [mm]."""
    work, y = trial.work, trial.work.y
    gz, gr, zz, zr, rr, trial.foot[i], off = contact_forces(
        y[2], y[5], trial.foot[i], task.held[i], sheet.half_wall, sheet.steel, task.tool
    )
    area = sheet.sections.reference[i, 0] * sheet.sections.reference[i, 2]
    work.gradient[2] += area * gz
    work.gradient[5] += area * gr
    work.hessian[2, 2] += area * zz
    work.hessian[2, 5] += area * zr
    work.hessian[5, 2] += area * zr
    work.hessian[5, 5] += area * rr
    return off
