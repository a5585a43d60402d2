"""What each element answers to a motion, worked out anew only where that tells something new.

Most of the sheet hardly moves while the nose goes one step on: there an element's last answer, carried on linearly, is
as good as a new one. It is taken while no layer can have come to yield, nothing has come into touch and the turn is
small enough for its square not to matter.
"""

from __future__ import annotations

__all__ = ["Memo", "Patience", "Sheet", "answer", "scratch"]

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.compiled import inner
from springfit.mechanics.laying.contact import SOFT_START_MM, Steel, contact_forces
from springfit.mechanics.laying.element import Elements, add_to_element, point_of, shape_hessian
from springfit.mechanics.laying.section import Sections, section_forces

Array = NDArray[np.float64]


class Sheet(NamedTuple):
    """The sheet and its steel for compiled code; `half_wall` [mm]."""

    elements: Elements
    sections: Sections
    steel: Steel
    half_wall: float


class Memo(NamedTuple):
    """The last answer of every element: where it was worked out (elements, 2, 4), nodal forces (elements, 8) and
    stiffness (elements, 8, 8) there, how far it was from yielding [-] and from touching [mm], and how many of its
    points were held (-1: never worked out)."""

    place: Array
    force: Array
    stiffness: Array
    spare: Array
    clear: Array
    held: NDArray[np.int64]

    @classmethod
    def empty(cls, count: int) -> Memo:
        """Nothing worked out yet."""
        shapes = (count, 2, 4), (count, 8), (count, 8, 8), (count,), (count,)
        return cls(*(np.zeros(shape) for shape in shapes), np.full(count, -1))


class Patience(NamedTuple):
    """When the last answer will do: strain that may pass unseen, turn [rad] and slide of held points [mm].

    All 0: never.
    """

    strain: float
    turn: float
    slide: float


class Scratch(NamedTuple):
    """Small arrays of one evaluation: y and its change, q forces, their tangent, dq/dy, gradient and hessian by y."""

    y: Array
    change: Array
    moved: Array
    force: Array
    tangent: Array
    first: Array
    gradient: Array
    hessian: Array


@inner
def scratch():  # type: ignore[no-untyped-def]
    """Fresh `Scratch`."""
    return Scratch(
        np.empty(6), np.empty(6), np.empty((2, 4)), np.empty(4), np.empty((4, 4)), np.empty((4, 6)),
        np.empty(6), np.empty((6, 6)),
    )  # fmt: skip


@inner
def answer(e, nodal, sheet, history, memo, foot, held, tool, patience, work, force):  # type: ignore[no-untyped-def]
    """Nodal forces of element e at `nodal` into `force` (8,); False where it is no shape of a sheet.

    The stiffness is memo.stiffness[e]. `history` is the pair before and after the step.
    """
    points = sheet.elements.weight.shape[1]
    count = points + 1
    if tool.touching:
        count = 0
        for p in range(points):
            count += held[e * points + p]
    for j in range(8):
        work.moved[j // 4, j % 4] = nodal[e + j // 4, j % 4] - memo.place[e, j // 4, j % 4]
    if memo.held[e] != count or not _still_good(e, sheet, memo, tool, patience, work):
        memo.held[e] = -1
        if not _worked_out(e, nodal, sheet, history, memo, foot, held, tool, work):
            return False
        memo.held[e] = count
        force[:] = memo.force[e]
        return True
    force[:] = memo.force[e]
    for j in range(8):
        for i in range(8):
            force[i] += memo.stiffness[e, j, i] * work.moved[j // 4, j % 4]
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
        shape = sheet.elements.shape[e, p]
        point_of(shape, memo.place[e, 0], memo.place[e, 1], y)
        point_of(shape, work.moved[0], work.moved[1], d)
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
def _worked_out(e, nodal, sheet, history, memo, foot, held, tool, work):  # type: ignore[no-untyped-def]
    """Element e at `nodal` from the wall's layers and what touches it, into `memo` and the history after the step."""
    points = sheet.elements.weight.shape[1]
    memo.place[e] = nodal[e : e + 2]
    memo.force[e] = 0.0
    memo.stiffness[e] = 0.0
    spare, clear = math.inf, math.inf
    y = work.y
    for p in range(points):
        i = e * points + p
        shape = sheet.elements.shape[e, p]
        point_of(shape, nodal[e], nodal[e + 1], y)
        a = math.hypot(y[0], y[3])
        kappa = (y[0] * y[4] - y[3] * y[1]) / a**3
        left = section_forces(
            i, a, kappa, y[5], y[0] / a, sheet.sections, history[0], history[1], work.force, work.tangent
        )
        if not left >= 0.0:
            return False
        spare = min(spare, left)
        shape_hessian(y, work.force, work.tangent, work.first, work.gradient, work.hessian)
        if tool.touching:
            gz, gr, zz, zr, rr, foot[i], off = contact_forces(
                y[2], y[5], foot[i], held[i], sheet.half_wall, sheet.steel, tool
            )
            clear = min(clear, off)
            area = sheet.sections.reference[i, 0] * sheet.sections.reference[i, 2]
            work.gradient[2] += area * gz
            work.gradient[5] += area * gr
            work.hessian[2, 2] += area * zz
            work.hessian[2, 5] += area * zr
            work.hessian[5, 2] += area * zr
            work.hessian[5, 5] += area * rr
        weight = sheet.elements.weight[e, p]
        add_to_element(shape, work.gradient, work.hessian, weight, memo.force[e], memo.stiffness[e])
    memo.spare[e] = spare / sheet.sections.metal.kx
    memo.clear[e] = clear
    return True
