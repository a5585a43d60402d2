"""The release of a bell as a 2-D axisymmetric elastic solid: quadratic quadrilaterals through the wall.

The sheet lies on the steel with stresses locked in; let go, it moves by u, where for every virtual motion v
    int eps(v) : C : eps(u) r dA = - int eps(v) : sigma_locked r dA.
The tail end is held along the axis, everything else is free. Linear, so one factorisation serves every
stress.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementQuad2, ElementVector, MeshQuad, MeshQuad2, asm

from springfit.demo.spinning.families import BellLine

__all__ = ["LockedStress", "Movement", "Solid"]

YOUNGS_MODULUS_MPA = 110_000.0  # cartridge brass C26000, producers' sheets give 110 to 112 GPa
POISSON_RATIO = 0.34  # of brass, handbooks give 0.33 to 0.35
QUADRATURE_ORDER = 4  # exact for the stiffness of a straight-sided quadratic element


@dataclass(frozen=True)
class LockedStress:
    """Stresses [MPa] before release at a line's stations, each (n,) or (n, fields).

    `meridional` and `hoop` are means over the wall; `bending` is the meridional stress of the outer face
    less the mean, `hoop_bending` the same of the hoop. Between the faces they vary as 1.5 x - 0.5 x^3: a
    plastic hinge let go of its outermost fibres, not a straight line, x = -1 at the steel and 1 at the
    outer face.
    """

    meridional: np.ndarray
    hoop: np.ndarray
    bending: np.ndarray
    hoop_bending: np.ndarray


@dataclass(frozen=True)
class Movement:
    """How the inside surface moves at arcs `s` (n,) [mm]; the motions are (n,) or (n, fields)."""

    s: np.ndarray
    normal: np.ndarray
    tangential: np.ndarray
    axial: np.ndarray


class Solid:
    """One bell on its steel: a line (its inside surface), the wall along it, cut at an end; factored once."""

    def __init__(self, line: BellLine, wall: np.ndarray, *, poisson_ratio: float = POISSON_RATIO) -> None:
        self.line = line
        self.poisson_ratio = poisson_ratio
        self.stations = _stations(line, wall)
        flat = MeshQuad2.from_mesh(MeshQuad.init_tensor(self.stations, np.array([0.0, 1.0])))
        mesh = MeshQuad2(self._bent(flat.doflocs, wall), flat.t)
        self._basis = Basis(mesh, ElementVector(ElementQuad2()), intorder=QUADRATURE_ORDER)
        where = Basis(flat, ElementQuad2(), intorder=QUADRATURE_ORDER).global_coordinates()
        self._arc, self._depth = np.asarray(where[0]), np.asarray(where[1])
        self._factor()
        self._strain_weights()
        self._inside = self._inside_dofs(flat)

    def _bent(self, flat: np.ndarray, wall: np.ndarray) -> np.ndarray:
        s, through = flat
        z, r, slope = self.line.points_at(s)
        out = through * np.interp(s, self.line.s, wall)
        return np.array([z - out * np.sin(slope), r + out * np.cos(slope)])

    def _at_tail(self, x: np.ndarray) -> np.ndarray:
        slope, z, r = self.line.slope[0], self.line.z[0], self.line.r[0]
        return np.abs((x[0] - z) * np.cos(slope) + (x[1] - r) * np.sin(slope)) < 1e-7

    def _factor(self) -> None:
        nu = self.poisson_ratio
        lame = YOUNGS_MODULUS_MPA * nu / ((1 + nu) * (1 - 2 * nu))
        shear = YOUNGS_MODULUS_MPA / (2 * (1 + nu))

        @BilinearForm
        def stiffness(u, v, w):  # type: ignore[no-untyped-def]
            r = w.x[1]
            du, dv, hoop_u, hoop_v = u.grad, v.grad, u[1] / r, v[1] / r
            trace_u, trace_v = du[0, 0] + du[1, 1] + hoop_u, dv[0, 0] + dv[1, 1] + hoop_v
            direct = du[0, 0] * dv[0, 0] + du[1, 1] * dv[1, 1] + hoop_u * hoop_v
            slide = (du[0, 1] + du[1, 0]) * (dv[0, 1] + dv[1, 0])
            return (lame * trace_u * trace_v + shear * (2 * direct + slide)) * r

        matrix = asm(stiffness, self._basis).tocsc()
        held = self._basis.get_dofs(self._at_tail).all("u^1")  # the first component is along the axis
        self._free = np.setdiff1d(np.arange(matrix.shape[0]), held)
        self._lu = splu(matrix[self._free][:, self._free].tocsc())

    def _strain_weights(self) -> None:
        """Meridional and hoop strain of every local shape function at every quadrature point, times r dA."""
        slope = np.interp(self._arc, self.line.s, self.line.slope)
        t = np.array([np.cos(slope), np.sin(slope)])
        r = np.asarray(self._basis.global_coordinates()[1])
        area = self._basis.dx * r
        shapes = [field[0] for field in self._basis.basis]
        along = [np.einsum("aeq,beq,abeq->eq", t, t, shape.grad) for shape in shapes]
        self._meridional = np.array(along) * area
        self._hoop = np.array([np.asarray(shape)[1] / r * area for shape in shapes])
        self._element_dofs = self._basis.element_dofs

    def _inside_dofs(self, flat: MeshQuad2) -> np.ndarray:
        """Degrees of freedom (2, n) of the inside surface's vertices, tail to rim."""
        arc, depth = flat.doflocs[:, : self._basis.nodal_dofs.shape[1]]
        inside = np.flatnonzero(depth == 0.0)
        return self._basis.nodal_dofs[:, inside[np.argsort(arc[inside])]]

    def _load(self, meridional: np.ndarray, hoop: np.ndarray) -> np.ndarray:
        work = np.einsum("keq,eq->ke", self._meridional, meridional)
        work += np.einsum("keq,eq->ke", self._hoop, hoop)
        return -np.bincount(self._element_dofs.ravel(), work.ravel(), minlength=self._basis.N)

    def release(self, stress: LockedStress) -> Movement:
        """The movement of the inside surface when `stress`, given at the line's stations, is let go."""
        fields = [
            np.atleast_2d(np.asarray(f).T)
            for f in (stress.meridional, stress.hoop, stress.bending, stress.hoop_bending)
        ]
        x = 2.0 * self._depth - 1.0
        through = 1.5 * x - 0.5 * x**3
        loads = []
        for mean_s, mean_h, bend_s, bend_h in zip(*fields, strict=True):
            at = [np.interp(self._arc, self.line.s, f) for f in (mean_s, mean_h, bend_s, bend_h)]
            loads.append(self._load(at[0] + at[2] * through, at[1] + at[3] * through))
        u = np.zeros((self._basis.N, len(loads)))
        u[self._free] = self._lu.solve(np.array(loads).T[self._free])
        axial, radial = u[self._inside[0]], u[self._inside[1]]
        slope = np.interp(self.stations, self.line.s, self.line.slope)[:, None]
        normal = -np.sin(slope) * axial + np.cos(slope) * radial
        tangential = np.cos(slope) * axial + np.sin(slope) * radial
        if np.ndim(stress.hoop) == 1:
            normal, tangential, axial = normal[:, 0], tangential[:, 0], axial[:, 0]
        return Movement(self.stations, normal, tangential, axial)


def _stations(line: BellLine, wall: np.ndarray) -> np.ndarray:
    """Element ends along the arc: a part of the decay length sqrt(r2 t), finer toward both free ends."""
    decay = np.sqrt(line.r / np.cos(line.slope) * wall)
    to_end = np.minimum(line.s, line.length - line.s)
    size = np.clip(np.minimum(0.55 * decay, 0.35 + 0.25 * to_end), 0.35, 2.2)
    count = np.concatenate([[0.0], np.cumsum(0.5 * (1 / size[1:] + 1 / size[:-1]) * np.diff(line.s))])
    return np.interp(np.linspace(0.0, count[-1], int(np.ceil(count[-1])) + 1), count, line.s)
