"""How the locked-in state of a spun bell arises: the sheet laid on the steel by a nose that travels to the rim.

An incremental elastic-plastic shell of revolution: cubic Hermite meridian elements (exact large displacements and
rotations), plane-stress J2 with power-law isotropic hardening in nine layers, one-sided contact with the mandrel and
with a round nose. The stress-free preform stands off the steel; the nose starts where it first stands off, rolls its
contact point along the steel to the rim, and what lies behind it is held on the steel, free to slide. Drawn off at
the end, the sheet is let go with its tail registered along the axis: the gap is how far its inside surface moves off
the steel along the normal.

Left out: friction, shear through the wall and the squeeze of the tool, the Bauschinger effect (isotropic hardening
reverses too late), wrinkling and anything else that is not round, how the last few millimetres of edge are worked.
"""

from __future__ import annotations

__all__ = ["Laid", "LayingCase", "lay", "lay_many"]

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
from joblib import Memory, Parallel, delayed
from numpy.typing import NDArray

from springfit.mechanics.laying.case import TOUCHING_MM, Laid, LayingCase
from springfit.mechanics.laying.contact import Nose, SteelCurve
from springfit.mechanics.laying.element import section_shape
from springfit.mechanics.laying.preform import sheet_model
from springfit.mechanics.laying.solver import LayingModel, SheetState, marched, released

Array = NDArray[np.float64]

LAYERS = 9  # Gauss points; odd, for an even rule has no layer where the elastic core is and misses it at 4 or 6
ELEMENT_WALLS = 2.5  # element length in walls; at 1.2 the rim gap moves by 2 % (annealed) to 6 % (half hard)
ADVANCE_WALLS = 0.5  # nose travel per increment in walls; halving it moves the rim gap by 1 to 3 %


def lay(
    case: LayingCase,
    *,
    trim_at: float | None = None,
    layers: int = LAYERS,
    element_walls: float = ELEMENT_WALLS,
    advance_walls: float = ADVANCE_WALLS,
) -> Laid:
    """Lay the preform on the steel, let it go, and say what was locked in and what gap it leaves.

    `trim_at` [mm]: arc at which the sheet is cut before it is let go (None: not cut), to half an element; what lies
    past it is dropped. `layers`, `element_walls` and `advance_walls` set how finely it is worked out.
    Raises LayingFailure (a RuntimeError) when equilibrium is lost, e.g. where the sheet would buckle.
    """
    steel = SteelCurve(case.s, case.z, case.r, case.slope)
    nodes = _node_arcs(case, trim_at, element_walls * case.wall)
    model, state = sheet_model(
        steel,
        stand_off=case.stand_off,
        wall=case.wall,
        curve=case.curve,
        nodes=nodes,
        layers=layers,
    )
    start_foot = steel.project(*_places(model, state), state.foot)[0]
    seated = marched(model, state, noses=_path(case, advance_walls * case.wall))
    if trim_at is not None:
        model, seated, start_foot = _trimmed(model, seated, start_foot, trim_at)
    return _report(model, seated, released(model, seated), start_foot)


def lay_many(
    cases: list[LayingCase], *, jobs: int = 1, folder: Path | None = None, trim_at: float | None = None
) -> list[Laid]:
    """`lay` for every case, `jobs` at a time; results are kept in and taken from `folder` when one is given.

    The folder knows a case by all its numbers but not the version of this package: empty it after an update.
    """
    run = lay if folder is None else Memory(folder, verbose=0).cache(lay)
    return list(Parallel(n_jobs=jobs)(delayed(run)(case, trim_at=trim_at) for case in cases))


def _node_arcs(case: LayingCase, trim_at: float | None, length: float) -> Array:
    """Node arcs at equal steps, one of them at the cut."""
    stops = [case.s[0], case.s[-1]]
    if trim_at is not None:
        if not case.s[0] < trim_at < case.s[-1]:
            raise ValueError(f"trim_at: found {trim_at!r}, expected an arc inside [{case.s[0]}, {case.s[-1]}]")
        stops.insert(1, trim_at)
    parts = [np.linspace(a, b, max(round((b - a) / length), 1) + 1)[:-1] for a, b in pairwise(stops)]
    return np.concatenate([*parts, [case.s[-1]]])


def _path(case: LayingCase, advance: float) -> tuple[Nose, ...]:
    """Places of ring and nose in order: lowered on to the first place that stands off, then along to the rim."""
    off = np.flatnonzero(case.stand_off > TOUCHING_MM)
    first = case.s[max(int(off[0]) - 1, 0)] if len(off) else case.spin_start
    start = float(min(first, case.spin_start))
    ring = case.ring_radius or case.nose_radius
    height = float(np.interp(start, case.s, case.stand_off))
    lifts = np.arange(np.ceil(height / advance), -1.0, -1.0) * advance
    end = float(case.s[-1])
    arcs = np.append(np.arange(start, end, advance), end)
    radii = np.where(arcs < case.spin_start, ring, case.nose_radius)
    lowered = [Nose(float(radii[0]), start, float(lift)) for lift in lifts]
    return tuple(lowered + [Nose(float(q), float(s)) for q, s in zip(radii[1:], arcs[1:], strict=True)])


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
    shorter = replace(model, mesh=mesh, sections=model.sections.first(kept))
    return shorter, seated.first(keep, points=points), start_foot[:kept]


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
    thickening = -(history.plastic_s + history.plastic_hoop) @ share
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
        equivalent_strain=model.mesh.smoothed(history.equivalent @ share),
        gap=-dz * np.sin(slope) + dr * np.cos(slope),
        axial=dz,
        slid=seat - start_foot,
        rim=float(rim),
    )


def _inside(y: Array, half: float) -> Array:
    """(z, r) of the inside surface under middle-surface points y, array (2, n)."""
    length = np.hypot(y[:, 0], y[:, 3])
    return np.stack([y[:, 2] + half * y[:, 3] / length, y[:, 5] - half * y[:, 0] / length])
