"""The sheet before it is laid: a preform that stands off the steel, and the mesh of its middle surface."""

from __future__ import annotations

__all__ = ["bubble", "preform_nodes", "sheet_model"]

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import Akima1DInterpolator, CubicSpline

from springfit.mechanics.laying.kernels.contact import SteelCurve
from springfit.mechanics.laying.kernels.element import MeridianMesh, section_shape
from springfit.mechanics.laying.kernels.section import Sections
from springfit.mechanics.laying.plasticity import FlowCurve
from springfit.mechanics.laying.solver import LayingFailure, LayingModel, SheetState

Array = NDArray[np.float64]

FINE_STEP_MM = 0.05  # as the table of the steel (`contact.TABLE_STEP_MM`)
KNOTS_EVERY = 5  # fine steps between the knots of the spline through the middle surface; below a third of an element
MARGIN_MM = 1.0  # of arc past both ends, so that the spline has no end there
# Of an arc stood off over a hollow; half the span in largest stand-offs; assumed
MOST_SHORTENING, SMOOTHED_OVER = 0.5, 2.0
FOLDING = 0.3  # length of the preform per length of steel under it, below which it would turn back on itself; assumed


def bubble(s: Array, *, height: float, start: float, end: float, skew: float = 1.0) -> Array:
    """Stand-off [mm] of a preform that bulges between two arcs: height sin^2(pi u^skew), u = (s - start)/(end - start).

    `end` may lie past the rim, so that the rim too stands off; skew above 1 moves the fullest place toward the rim.
    Zero outside. Raises ValueError when end <= start, skew <= 0 or height < 0.
    """
    if not end > start or not skew > 0.0 or height < 0.0:
        raise ValueError(
            f"bubble: found start {start!r}, end {end!r}, skew {skew!r}, height {height!r}; "
            "expected end > start, skew > 0, height >= 0"
        )
    u = np.clip((np.asarray(s, dtype=float) - start) / (end - start), 0.0, 1.0)
    return np.asarray(height * np.sin(np.pi * u**skew) ** 2)


def preform_nodes(steel: SteelCurve, *, stand_off: Array, wall: float, nodes: Array) -> Array:
    """Nodal values (m, 4) of the preform's middle surface, parametrised by the arc of the steel under it.

    `stand_off` [mm] at the stations of `steel` is the normal distance of the preform's inside surface; half the
    wall [mm] is added along the preform's own normal. Over a hollow nearly as narrow as the stand-off, as between
    two facets, the steel's normals would cross: there they are smoothed over some stand-offs.
    """
    first, last = nodes[0] - MARGIN_MM, nodes[-1] + MARGIN_MM
    s = first + FINE_STEP_MM * np.arange(int(np.ceil((last - first) / FINE_STEP_MM)) + 1)
    table = steel.table
    z, r, slope = (np.interp(s, steel.arcs, column) for column in (table.z, table.r, table.slope))
    off = Akima1DInterpolator(steel.s, stand_off)
    inside = np.clip(s, steel.s[0], steel.s[-1])
    d = off(inside) + off(inside, 1) * (s - inside)
    if np.max(d * np.gradient(slope, FINE_STEP_MM)) > MOST_SHORTENING:
        slope = _smoothed(slope, int(SMOOTHED_OVER * np.max(d) / FINE_STEP_MM))
    z, r = z - d * np.sin(slope), r + d * np.cos(slope)
    tilt = np.arctan2(np.gradient(r, FINE_STEP_MM), np.gradient(z, FINE_STEP_MM))
    z, r = z - 0.5 * wall * np.sin(tilt), r + 0.5 * wall * np.cos(tilt)
    curve_z, curve_r = (CubicSpline(s[::KNOTS_EVERY], column[::KNOTS_EVERY]) for column in (z, r))
    return np.stack([curve_z(nodes), curve_r(nodes), curve_z(nodes, 1), curve_r(nodes, 1)], axis=1)


def _smoothed(values: Array, count: int) -> Array:
    """Running means over 2 count + 1 values, taken twice, the end values going on past the ends."""
    for _ in range(2):
        sums = np.cumsum(np.pad(values, (count + 1, count), mode="edge"))
        values = (sums[2 * count + 1 :] - sums[: -2 * count - 1]) / (2 * count + 1)
    return values


def sheet_model(
    steel: SteelCurve, *, stand_off: Array, wall: float, curve: FlowCurve, nodes: Array, layers: int
) -> tuple[LayingModel, SheetState]:
    """The model of an unstressed preform over its steel, and its state before anything touches it.

    Raises LayingFailure where the preform would fold.
    """
    mesh = MeridianMesh(nodes)
    nodal = preform_nodes(steel, stand_off=stand_off, wall=wall, nodes=nodes)
    reference = section_shape(mesh.curve(nodal))
    least = int(np.argmin(reference[:, 0]))
    if reference[least, 0] < FOLDING:
        raise LayingFailure(
            f"the preform folds at arc {mesh.parameters[least]:.1f} mm: it stands off too far over a hollow"
        )
    model = LayingModel(mesh, Sections.of(reference, wall=wall, layers=layers, curve=curve), steel, nodal)
    return model, model.unstrained()
