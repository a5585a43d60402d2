"""Equilibrium of the sheet under the nose: Newton with banded solves, and the march of the nose to the rim."""

from __future__ import annotations

__all__ = ["LayingFailure", "LayingModel", "SheetState", "marched", "released"]

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_banded

from springfit.mechanics.layered_section import LayeredSection, LayerHistory, SectionForces
from springfit.mechanics.laying_contact import ContactForces, Nose, SteelCurve
from springfit.mechanics.laying_element import BANDWIDTH, MeridianMesh, section_derivatives

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

MAX_NEWTON_STEPS = 16
MAX_BACKTRACKS = 3
ACCEPTED_GROWTH, SHORTENING = 1.2, 0.4  # of the residual before a move is cut, and to what
MAX_HALVINGS = 4
MAX_CREEP_STEPS = 60
RELEASE_STEP, SMALLEST_RELEASE_STEP = 0.25, 0.02  # shares of the holding forces
DAMPING, SLIGHT_DAMPING = 5.0, 5.0e-4  # N/mm^3, against contact springs of 20 000
REST_TOLERANCES = 5.0
LONGEST_MOVE_MM = 0.3
RESIDUAL_TOLERANCE = 1.0e-6  # of yield strength * wall * largest radius, the forces at work being of that size


class LayingFailure(RuntimeError):
    """The increments could not be made small enough for equilibrium to be found."""


@dataclass(frozen=True)
class SheetState:
    """The sheet at equilibrium: `nodal` (m, 4), layer `history`, `foot` (n,) arcs on the steel under each point."""

    nodal: Array
    history: LayerHistory
    foot: Array


@dataclass(frozen=True)
class LayingModel:
    """A sheet (mesh and sections) over its steel; the tail node is fixed along the axis.

    `contact_stiffness` [N/mm^3] of the springs between sheet, steel and nose.
    """

    mesh: MeridianMesh
    section: LayeredSection
    steel: SteelCurve
    contact_stiffness: float

    @cached_property
    def area(self) -> Array:
        """Unstressed middle-surface area of each Gauss point per radian [mm^2]."""
        reference = self.section.reference
        return np.asarray(reference[:, 0] * reference[:, 2] * self.mesh.weights)

    @cached_property
    def tolerance(self) -> float:
        """Largest unbalanced nodal force per radian that counts as equilibrium [N]."""
        section = self.section
        scale = section.curve.yield_strength * np.max(section.wall) * np.max(section.reference[:, 2])
        return float(RESIDUAL_TOLERANCE * scale)

    def unbalance(
        self, nodal: Array, history: LayerHistory, foot: Array, *, nose: Nose | None, held: BoolArray | None
    ) -> tuple[Array, Array, SectionForces, Array]:
        """Nodal forces per radian, their banded tangent, section forces and feet at trial positions.

        Without `held` nothing touches the sheet.
        """
        y = self.mesh.curve(nodal)
        q, first, second = section_derivatives(y)
        forces = self.section.forces(q, history)
        weight = self.mesh.weights
        gradient = np.matmul(forces.force[:, None, :], first)[:, 0, :] * weight[:, None]
        hessian = np.matmul(first.transpose(0, 2, 1), np.matmul(forces.tangent, first))
        hessian += np.matmul(forces.force[:, None, :], second.reshape(len(q), 4, 36)).reshape(len(q), 6, 6)
        hessian *= weight[:, None, None]
        if held is not None:
            touch = ContactForces.of(
                y[:, 5],
                y[:, 4],
                foot,
                steel=self.steel,
                nose=nose,
                half_wall=0.5 * self.section.wall,
                held=held,
                stiffness=self.contact_stiffness,
            )
            foot = touch.foot
            # y lists r before z; contact speaks of (z, r).
            gradient[:, 5] += self.area * touch.gradient[:, 0]
            gradient[:, 4] += self.area * touch.gradient[:, 1]
            block = self.area[:, None, None] * touch.hessian
            hessian[:, 4:, 4:] += block[:, ::-1, ::-1]
        residual, band = self.mesh.assemble(gradient, hessian)
        return residual, band, forces, foot

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
        nodal, foot = start.nodal, start.foot
        base, move = nodal, np.zeros_like(nodal)
        norms: list[float] = []
        backtracks = 0
        for _ in range(MAX_NEWTON_STEPS):
            try:
                with np.errstate(invalid="ignore", divide="ignore"):
                    residual, band, forces, foot_now = self.unbalance(nodal, start.history, foot, nose=nose, held=held)
            except ArithmeticError:
                break
            if outside is not None:
                residual = residual + outside
            if damping > 0.0:
                drag, drag_band = self._drag(nodal - start.nodal, damping)
                residual, band = residual + drag, band + drag_band
            residual[0] = 0.0
            norm = float(np.max(np.abs(residual)))
            grown = not np.isfinite(norm) or (len(norms) > 1 and norm > ACCEPTED_GROWTH * norms[-1])
            if grown and backtracks < MAX_BACKTRACKS:
                move, backtracks = SHORTENING * move, backtracks + 1
                nodal = base + move
                continue
            if not np.isfinite(norm):
                break
            norms.append(norm)
            foot, backtracks = foot_now, 0
            if norm < self.tolerance:
                return SheetState(nodal, forces.history, foot), tuple(norms)
            band[BANDWIDTH, 0] += 1.0e3 * float(np.max(np.abs(band[BANDWIDTH])))
            move = solve_banded((BANDWIDTH, BANDWIDTH), band, -residual, check_finite=False).reshape(-1, 4)
            longest = float(np.max(np.abs(move[:, :2])))
            if not np.isfinite(longest):
                break
            move = move * min(1.0, LONGEST_MOVE_MM / max(longest, 1.0e-12))
            base, nodal = nodal, nodal + move
        raise LayingFailure(f"no equilibrium after {len(norms)} Newton steps, residuals {norms[-3:]} N")

    def _drag(self, moved: Array, damping: float) -> tuple[Array, Array]:
        """Forces and banded tangent of springs of `damping` [N/mm^3] against nodal moves (m, 4)."""
        y = self.mesh.curve(moved)
        gradient, hessian = np.zeros_like(y), np.zeros((len(y), 6, 6))
        gradient[:, 4:] = (damping * self.area)[:, None] * y[:, 4:]
        hessian[:, 4, 4] = hessian[:, 5, 5] = damping * self.area
        return self.mesh.assemble(gradient, hessian)


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
    holding, _, _, _ = model.unbalance(state.nodal, state.history, state.foot, nose=None, held=None)
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
