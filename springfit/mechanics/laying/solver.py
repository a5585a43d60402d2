"""The march of the nose to the rim and the letting go, as a chain of equilibria."""

from __future__ import annotations

__all__ = ["LayingFailure", "LayingModel", "SheetState", "marched", "released"]

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.contact import Nose, SteelCurve, Tool
from springfit.mechanics.laying.element import MeridianMesh
from springfit.mechanics.laying.equilibrium import Task, balanced, forces_and_stiffness
from springfit.mechanics.laying.response import Memo, Patience, Sheet
from springfit.mechanics.laying.section import History, Sections

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

MAX_HALVINGS = 4
MAX_CREEP_STEPS = 60
RELEASE_STEP, SMALLEST_RELEASE_STEP = 0.25, 0.02  # shares of the holding forces
DAMPING, SLIGHT_DAMPING = 5.0, 5.0e-4  # N/mm^3, against contact springs of 20 000
REST_TOLERANCES = 5.0
RESIDUAL_TOLERANCE = 1.0e-6  # of yield strength * wall * largest radius, the forces at work being of that size
CONTACT_STIFFNESS = 2.0e4  # N/mm^3: 1 MPa of pressure sinks the sheet 0.05 micrometre
PATIENCE = Patience(strain=1.0e-6, turn=5.0e-4, slide=2.0e-3)
NEVER = Patience(0.0, 0.0, 0.0)


class LayingFailure(RuntimeError):
    """The increments could not be made small enough for equilibrium to be found."""


@dataclass(frozen=True)
class SheetState:
    """The sheet at equilibrium: `nodal` (m, 4), layer `history`, `foot` (n,) arcs on the steel under each point.

    `memo` are the elements' last answers, from which the next step starts.
    """

    nodal: Array
    history: History
    foot: Array
    memo: Memo

    def first(self, nodes: int, *, points: int) -> SheetState:
        """That of the first so many nodes, `points` per element."""
        kept = (nodes - 1) * points
        memo = Memo.empty(nodes - 1)
        return SheetState(self.nodal[:nodes].copy(), self.history.first(kept), self.foot[:kept].copy(), memo)


@dataclass(frozen=True)
class LayingModel:
    """A sheet (mesh and sections) over its steel; the tail node is fixed along the axis.

    `contact_stiffness` [N/mm^3] of the springs between sheet, steel and nose; `patience` with elements that move little.
    """

    mesh: MeridianMesh
    sections: Sections
    steel: SteelCurve
    contact_stiffness: float = CONTACT_STIFFNESS
    patience: Patience = PATIENCE

    @cached_property
    def sheet(self) -> Sheet:
        """All of it, for compiled code."""
        return Sheet(self.mesh.elements, self.sections, self.steel.table, 0.5 * self.sections.wall)

    @cached_property
    def tolerance(self) -> float:
        """Largest unbalanced nodal force per radian that counts as equilibrium [N]."""
        metal, reference = self.sections.metal, self.sections.reference
        start = metal.strength * metal.prestrain**metal.exponent
        return float(RESIDUAL_TOLERANCE * start * self.sections.wall * np.max(reference[:, 2]))

    def unstrained(self, nodal: Array, foot: Array) -> SheetState:
        """The sheet in the shape its sections know as unstressed."""
        return SheetState(nodal, History.virgin(self.sections), foot, Memo.empty(len(nodal) - 1))

    def forces(
        self, state: SheetState, *, nose: Nose | None = None, held: BoolArray | None = None
    ) -> tuple[Array, Array, History]:
        """Nodal forces per radian, their lower band (4 m, 8) and the history after at the state's nodal values.

        Without `held` nothing touches the sheet.
        """
        task = self._task(nose, held, None, 0.0)._replace(patience=NEVER)
        memo, foot = Memo.empty(len(state.nodal) - 1), state.foot.copy()
        residual, band, after = forces_and_stiffness(self.sheet, state.nodal, state.history, memo, foot, task)
        return residual, band, after

    def balance(
        self,
        start: SheetState,
        *,
        nose: Nose | None = None,
        held: BoolArray | None = None,
        outside: Array | None = None,
        damping: float = 0.0,
    ) -> tuple[SheetState, tuple[float, ...]]:
        """New equilibrium from `start` under `nose`, `held` points and nodal forces `outside`, and the residuals.

        `damping` [N/mm^3] resists every motion from the start, for a sheet that snaps over.
        Raises LayingFailure when Newton's method does not get there.
        """
        task = self._task(nose, held, outside, damping)
        memo, foot = Memo(*(column.copy() for column in start.memo)), start.foot.copy()
        reached, nodal, after, norms = balanced(self.sheet, start.nodal, start.history, memo, foot, task)
        if not reached:
            raise LayingFailure(f"no equilibrium after {len(norms)} Newton steps, residuals {norms[-3:]} N")
        return SheetState(nodal, after, foot, memo), tuple(norms)

    def _task(self, nose: Nose | None, held: BoolArray | None, outside: Array | None, damping: float) -> Task:
        nodes, points = len(self.mesh.nodes), len(self.sections.reference)
        if held is None:
            tool = Tool(0.0, 0.0, 0.0, False, float(self.contact_stiffness))
            held = np.zeros(points, dtype=bool)
        else:
            tool = self.steel.tool(nose, wall=self.sections.wall, stiffness=float(self.contact_stiffness))
        push = np.zeros(4 * nodes) if outside is None else np.asarray(outside, dtype=float)
        return Task(held, tool, push, float(damping), self.tolerance, self.patience)


def marched(model: LayingModel, state: SheetState, *, noses: tuple[Nose, ...]) -> SheetState:
    """The sheet after the nose has gone through the given places in order; steps are halved where they fail.

    What lies behind the nose at the start of a step is held on the steel during it.
    """
    before = noses[0]
    for nose in noses:
        state = _step(model, state, before, nose, 0)
        before = nose
    return state


def _step(model: LayingModel, state: SheetState, before: Nose, nose: Nose, halvings: int) -> SheetState:
    held = state.foot <= nose.at
    try:
        return model.balance(state, nose=nose, held=held)[0]
    except LayingFailure:
        if halvings >= MAX_HALVINGS or nose == before:
            try:
                return _crept(model, state, nose=nose, held=held)
            except LayingFailure as failure:
                raise LayingFailure(f"nose at arc {nose.at:.3f} mm: {failure}; try a shorter advance") from failure
    middle = Nose(nose.radius, 0.5 * (before.at + nose.at), 0.5 * (before.lift + nose.lift))
    state = _step(model, state, before, middle, halvings + 1)
    return _step(model, state, middle, nose, halvings + 1)


def _crept(
    model: LayingModel,
    state: SheetState,
    *,
    nose: Nose | None = None,
    held: BoolArray | None = None,
    outside: Array | None = None,
) -> SheetState:
    """The sheet past a snap: it creeps against damping until it is at rest without."""
    damping = DAMPING
    for _ in range(MAX_CREEP_STEPS):
        try:
            state, norms = model.balance(state, nose=nose, held=held, outside=outside, damping=damping)
        except LayingFailure:
            damping *= 4.0
            continue
        # The first residual is met before anything moves, so without drag: small means at rest.
        if norms[0] < REST_TOLERANCES * model.tolerance:
            return state
        damping = max(0.5 * damping, SLIGHT_DAMPING)
    raise LayingFailure("the sheet snaps over and does not come to rest")


def released(model: LayingModel, state: SheetState) -> SheetState:
    """The free sheet: the forces that hold it are taken off bit by bit, the tail staying put along the axis."""
    holding, _, _ = model.forces(state)
    left, step = 1.0, RELEASE_STEP
    while left > 0.0:
        target = -max(left - step, 0.0) * holding
        try:
            state, _ = model.balance(state, outside=target)
        except LayingFailure:
            if step > SMALLEST_RELEASE_STEP:
                step *= 0.5
                continue
            state = _crept(model, state, outside=target)
        left -= step
    return state
