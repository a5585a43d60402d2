"""How the locked-in state of a spun bell arises: the sheet laid on the steel by a nose that travels to the rim.

An incremental elastic-plastic shell of revolution: cubic Hermite meridian elements (exact large displacements and
rotations), plane-stress J2 with power-law isotropic hardening in layers, one-sided contact with the mandrel and
with a round nose. The stress-free preform stands off the steel; the nose starts where it first stands off, rolls its
contact point along the steel to the rim, and what lies behind it is held on the steel, free to slide. Drawn off at
the end, the sheet is let go with its tail registered along the axis: the gap is how far its inside surface moves off
the steel along the normal.

Left out: friction, shear through the wall and the squeeze of the tool, the Bauschinger effect (isotropic hardening
reverses too late), wrinkling and anything else that is not round, how the last few millimetres of edge are worked.

Against five bells laid by solid finite elements (tests/data/laid_bells) the gap is met to 1.6 % (rms, of the largest)
for three annealed ones, the rim being 4 to 9 % low; for a hard one and a low hump the rim is 36 and 40 % low, the rms 7
to 8 %. There neither side is settled: the solids moved the nose in steps of 0.75 mm and were not refined for those two.
"""

from __future__ import annotations

__all__ = ["lay"]

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.case import Laid, LayingCase
from springfit.mechanics.laying.grading import Fineness, node_arcs, nose_path
from springfit.mechanics.laying.kernels.contact import SteelCurve
from springfit.mechanics.laying.kernels.element import section_shape
from springfit.mechanics.laying.kernels.response import Memo
from springfit.mechanics.laying.kernels.section import EQUIVALENT, PLASTIC_HOOP, PLASTIC_S
from springfit.mechanics.laying.preform import sheet_model
from springfit.mechanics.laying.solver import LayingModel, SheetState, marched, released

Array = NDArray[np.float64]


def lay(case: LayingCase, *, trim_at: float | None = None, fineness: Fineness | None = None) -> Laid:
    """Lay the preform on the steel, let it go, and say what was locked in and what gap it leaves.

    `trim_at` [mm]: arc at which the sheet is cut before it is let go (None: not cut), to half an element; what lies
    past it is dropped. `fineness` says how finely it is worked out.
    Raises LayingFailure (a RuntimeError) when equilibrium is lost, e.g. where the sheet would buckle.
    """
    steps = fineness or Fineness()
    steel = SteelCurve(case.s, case.z, case.r, case.slope)
    model, state = sheet_model(
        steel,
        stand_off=case.stand_off,
        wall=case.wall,
        curve=case.curve,
        nodes=node_arcs(case, trim_at, steps),
        layers=steps.layers,
    )
    start_foot = steel.project(*_places(model, state), state.foot)[0]
    seated = marched(model, state, noses=nose_path(case, steps), hasty=steps.hasty)
    if trim_at is not None:
        model, seated, start_foot = _trimmed(model, seated, start_foot, trim_at)
    seated = _pulled(model, seated, case)
    return _report(model, seated, released(model, seated), start_foot)


def _pulled(model: LayingModel, state: SheetState, case: LayingCase) -> SheetState:
    """The drawn part with the pull that drawing left in it along the meridian: a stress (pull Y, 0) put on top."""
    if case.drawn_pull == 0.0:
        return state
    curve, history = case.curve, state.history.copy()
    strain = case.drawn_pull * curve.yield_strength / curve.youngs_modulus
    drawn = state.foot < case.spin_start
    history[drawn, :, PLASTIC_S] -= strain
    history[drawn, :, PLASTIC_HOOP] += curve.poisson_ratio * strain
    return replace(state, history=history, memo=Memo.empty(len(state.nodal) - 1))


def _places(model: LayingModel, state: SheetState) -> tuple[Array, Array]:
    """(z, r) of the middle surface at the Gauss points."""
    y = model.mesh.curve(state.nodal)
    return y[:, 2], y[:, 5]


def _trimmed(
    model: LayingModel, state: SheetState, start_foot: Array, trim_at: float
) -> tuple[LayingModel, SheetState, Array]:
    """The part of the sheet that stays: everything up to the node nearest to the cut in the seated state."""
    seat = model.steel.project(state.nodal[:, 0], state.nodal[:, 1], model.mesh.nodes)[0]
    keep = int(np.argmin(np.abs(seat - trim_at))) + 1
    points = model.mesh.points
    kept = (keep - 1) * points
    mesh = replace(model.mesh, nodes=model.mesh.nodes[:keep])
    shorter = replace(
        model, mesh=mesh, sections=model.sections.first(kept), unstressed=model.unstressed[:keep]
    )
    return shorter, state.first(keep, points=points), start_foot[:kept]


def _report(model: LayingModel, seated: SheetState, free: SheetState, start_foot: Array) -> Laid:
    """What was locked in on the steel, and how the inside surface moved from there to where it is free."""
    y, y_free = model.mesh.curve(seated.nodal), model.mesh.curve(free.nodal)
    found = model.sections.resultants(section_shape(y), seated.history)
    n_s, n_theta, m_s, m_theta = (model.mesh.smoothed(column) for column in found)
    wall, metal, history = model.sections.wall, model.sections.metal, seated.history
    half = 0.5 * wall
    seat, _, slope, _ = model.steel.project(y[:, 2], y[:, 5], seated.foot)
    dz, dr = _inside(y_free, half) - _inside(y, half)
    share = model.sections.weight / wall
    thickening = -(history[..., PLASTIC_S] + history[..., PLASTIC_HOOP]) @ share
    # nu/E, out of kx = E/(1 - nu) and ky = E/(1 + nu)
    thickening -= 0.5 * (1.0 / metal.ky - 1.0 / metal.kx) * (n_s + n_theta) / wall
    rim = model.steel.project(seated.nodal[-1:, 0], seated.nodal[-1:, 1], model.mesh.nodes[-1:])[0][0]
    return Laid(
        s=seat,
        n_s=n_s,
        n_theta=n_theta,
        m_s=m_s,
        m_theta=m_theta,
        wall=wall * np.exp(model.mesh.smoothed(thickening)),
        equivalent_strain=model.mesh.smoothed(history[..., EQUIVALENT] @ share),
        gap=-dz * np.sin(slope) + dr * np.cos(slope),
        axial=dz,
        slid=seat - start_foot,
        rim=float(rim),
    )


def _inside(y: Array, half: float) -> Array:
    """(z, r) of the inside surface under middle-surface points y, array (2, n)."""
    length = np.hypot(y[:, 0], y[:, 3])
    return np.stack([y[:, 2] + half * y[:, 3] / length, y[:, 5] - half * y[:, 0] / length])
