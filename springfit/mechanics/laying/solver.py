"""The march of the nose to the rim and the letting go, as a chain of equilibria."""

from __future__ import annotations

__all__ = ["LayingFailure", "LayingModel", "SheetState", "marched", "released"]

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.kernels.contact import Nose, SteelCurve, Tool
from springfit.mechanics.laying.kernels.element import MeridianMesh
from springfit.mechanics.laying.kernels.equilibrium import Task, Trial, balanced
from springfit.mechanics.laying.kernels.evenness import unevenness
from springfit.mechanics.laying.kernels.response import Memo, Patience, Sheet
from springfit.mechanics.laying.kernels.section import Sections, virgin

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

MAX_HALVINGS = 4  # of a step of the nose: a sixteenth; what fails then snaps
MAX_CREEP_STEPS = 60  # a bound on time
RELEASE_STEP, SMALLEST_RELEASE_STEP = 0.25, 0.02  # shares of the holding forces; assumed: the release is nearly linear
DAMPING, SLIGHT_DAMPING = 5.0, 5.0e-4  # N/mm^3, against contact springs of 20 000; the second hardly felt; assumed
CREEP_TOLERANCE = 0.2  # of the usual one: each creeping step is met closer than the rest it is to find; assumed
# Of yield strength * wall * largest radius, the forces at work being of that size; 1e-6 moves no gap by 0.01 %.
RESIDUAL_TOLERANCE = 1.0e-4
CONTACT_STIFFNESS = 2.0e4  # N/mm^3: 1 MPa of pressure sinks the sheet 0.05 micrometre
PATIENCE = Patience(strain=5.0e-6, turn=1.0e-3, slide=4.0e-3)  # against none at all: 0.03 % of the largest gap
NEVER = Patience(0.0, 0.0, 0.0)


class LayingFailure(RuntimeError):
    """The increments could not be made small enough for equilibrium to be found."""


@dataclass(frozen=True)
class SheetState:
    """The sheet at equilibrium: `nodal` (m, 4), layer `history`, `foot` (n,) arcs on the steel under each point.

    `memo` are the elements' last answers, from which the next step starts.
    """

    nodal: Array
    history: Array
    foot: Array
    memo: Memo

    def first(self, nodes: int, *, points: int) -> SheetState:
        """That of the first so many nodes, `points` per element."""
        kept = (nodes - 1) * points
        memo = Memo.empty(nodes - 1)
        return SheetState(self.nodal[:nodes].copy(), self.history[:kept].copy(), self.foot[:kept].copy(), memo)


@dataclass(frozen=True)
class LayingModel:
    """A sheet (mesh and sections) over its steel; the tail node is fixed along the axis.

    `unstressed` (m, 4) are the nodal values of the shape that the sections know as unstressed.
    `contact_stiffness` [N/mm^3] of the springs between sheet, steel and nose; `patience` with elements at rest.
    """

    mesh: MeridianMesh
    sections: Sections
    steel: SteelCurve
    unstressed: Array
    contact_stiffness: float = CONTACT_STIFFNESS
    patience: Patience = PATIENCE

    @cached_property
    def sheet(self) -> Sheet:
        """All of it, for compiled code."""
        elements = self.mesh.elements
        uneven = unevenness(self.unstressed, elements.step)
        return Sheet(elements, self.sections, self.steel.table, 0.5 * self.sections.wall, uneven)

    @cached_property
    def tolerance(self) -> float:
        """Largest unbalanced nodal force per radian that counts as equilibrium [N]."""
        metal, reference = self.sections.metal, self.sections.reference
        start = metal.strength * metal.prestrain**metal.exponent
        return float(RESIDUAL_TOLERANCE * start * self.sections.wall * np.max(reference[:, 2]))

    def unstrained(self) -> SheetState:
        """The sheet unstressed."""
        foot = self.mesh.parameters.copy()
        return SheetState(self.unstressed, virgin(self.sections), foot, Memo.empty(len(self.unstressed) - 1))

    def forces(
        self, state: SheetState, *, nose: Nose | None = None, held: BoolArray | None = None
    ) -> tuple[Array, Array, Array]:
        """Nodal forces per radian, their stiffness (4 m, 8; K[i, i + k]) and the history after it.

        Those of the tail node along the axis, where it is fixed, are 0. Without `held` nothing touches the sheet.
        """
        task = self._task(nose, held, None, 0.0)._replace(patience=NEVER, tolerance=np.inf)
        trial = Trial.start(state.nodal, state.history, Memo.empty(len(state.nodal) - 1), state.foot)
        balanced(self.sheet, state.nodal, state.history, trial, task)
        size = state.nodal.size
        return trial.residual[:size], trial.band[:size], trial.after

    def balance(
        self,
        start: SheetState,
        *,
        nose: Nose | None = None,
        held: BoolArray | None = None,
        outside: Array | None = None,
        damping: float = 0.0,
        guess: Array | None = None,
        hasty: bool = False,
        closer: float = 1.0,
    ) -> tuple[SheetState, tuple[float, ...]]:
        """New equilibrium from `start` under `nose`, `held` points and nodal forces `outside`, and the residuals.

        `damping` [N/mm^3] resists every motion from the start, for a sheet that snaps over. Newton's method sets out
        from `guess` (m, 4), by default from the start, gives up sooner where it is `hasty`, and stops at `closer` times
        the usual tolerance.
        Raises LayingFailure when Newton's method does not get there.
        """
        task = self._task(nose, held, outside, damping)
        task = task._replace(tolerance=closer * task.tolerance, hasty=hasty)
        nodal = start.nodal if guess is None else guess
        trial = Trial.start(nodal, start.history, start.memo, start.foot)
        reached, count = balanced(self.sheet, start.nodal, start.history, trial, task)
        norms = tuple(float(norm) for norm in trial.norms[:count])
        if not reached:
            raise LayingFailure(f"no equilibrium after {count} Newton steps, residuals {norms[-3:]} N")
        return SheetState(trial.nodal, trial.after, trial.foot, trial.memo), norms

    def _task(self, nose: Nose | None, held: BoolArray | None, outside: Array | None, damping: float) -> Task:
        nodes, points = len(self.mesh.nodes), len(self.sections.reference)
        if held is None:
            tool = Tool(0.0, 0.0, 0.0, False, float(self.contact_stiffness))
            held = np.zeros(points, dtype=bool)
        else:
            tool = self.steel.tool(nose, wall=self.sections.wall, stiffness=float(self.contact_stiffness))
        push = np.zeros(4 * nodes) if outside is None else np.asarray(outside, dtype=float)
        return Task(held, tool, push, float(damping), self.tolerance, self.patience, False)


def marched(model: LayingModel, state: SheetState, *, noses: tuple[Nose, ...], hasty: bool = False) -> SheetState:
    """The sheet after the nose has gone through the given places in order; steps are halved where they fail.

    What lies behind the nose is held on the steel. A step starts from what the last one did, moved on with the nose.
    """
    before, move, gone = noses[0], np.zeros_like(state.nodal), 0.0
    for nose in noses:
        advance = nose.at - before.at
        after = None
        if gone > 0.0 and advance > 0.0:
            guess = state.nodal + min(advance / gone, 1.0) * _moved_on(model.mesh.nodes, move, advance)
            after = _guessed(model, state, nose, guess, hasty)
        if after is None:
            after = _step(model, state, before, nose, 0)
        before, move, gone, state = nose, after.nodal - state.nodal, advance, after
    return state


def _moved_on(nodes: Array, move: Array, advance: float) -> Array:
    """Nodal moves (m, 4) as they would be `advance` [mm] further toward the rim."""
    return np.stack([np.interp(nodes - advance, nodes, column) for column in move.T], axis=1)


def _guessed(model: LayingModel, state: SheetState, nose: Nose, guess: Array, hasty: bool) -> SheetState | None:
    """The step with Newton's method started from `guess`, None where it does not get there."""
    try:
        return model.balance(state, nose=nose, held=state.foot <= nose.at, guess=guess, hasty=hasty)[0]
    except LayingFailure:
        return None


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
            state, norms = model.balance(
                state, nose=nose, held=held, outside=outside, damping=damping, closer=CREEP_TOLERANCE
            )
        except LayingFailure:
            damping *= 4.0
            continue
        # The first residual is met before anything moves, so without drag: small means at rest.
        if norms[0] < model.tolerance:
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
