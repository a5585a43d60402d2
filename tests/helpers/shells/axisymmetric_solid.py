"""The independent yardstick: the same release by a 2-D axisymmetric solid, quadratic quadrilaterals
(scikit-fem).

The wall is meshed whole. Locked-in stresses are set so that their resultants per unit of middle surface are
those asked: sigma_s (1 + y cos(phi)/r) and sigma_theta (1 - y kappa) are linear in the height y above the
middle surface.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.sparse.linalg import splu
from scipy.spatial import cKDTree
from skfem import (
    Basis,
    BilinearForm,
    ElementQuad2,
    ElementVector,
    LinearForm,
    MeshQuad,
    MeshQuad2,
    asm,
)


@dataclass(frozen=True)
class Line:
    """A middle line as smooth functions of its arc."""

    s: np.ndarray
    z: CubicSpline
    r: CubicSpline
    slope: CubicSpline


class Solid:
    """Wall `t` about a middle line, `along` elements between tail and rim (packed to the ends), `through` the
    wall.
    """

    def __init__(
        self, line: Line, *, t: float, modulus: float, poisson: float, along: int, through: int = 2
    ) -> None:
        self.line, self.t, self.modulus, self.poisson = line, t, modulus, poisson
        packed = (1 - np.cos(np.pi * np.linspace(0, 1, along + 1))) / 2
        s = line.s[-1] * (0.7 * np.linspace(0, 1, along + 1) + 0.3 * packed)
        flat = MeshQuad2.from_mesh(MeshQuad.init_tensor(s, np.linspace(-t / 2, t / 2, through + 1)))
        self.place = flat.doflocs  # (s, y) of every node
        arc, y = self.place
        slope = line.slope(arc)
        mesh = replace(
            flat, doflocs=np.stack([line.z(arc) - y * np.sin(slope), line.r(arc) + y * np.cos(slope)])
        )
        self.basis = Basis(mesh, ElementVector(ElementQuad2()), intorder=4)
        # (s, y) at the quadrature points, by the same quadratic map as the nodes.
        shape = Basis(mesh, ElementQuad2(), intorder=4)
        order = self._scalar_order(shape, mesh)
        self.arc, self.height = (np.asarray(shape.interpolate(f[order])) for f in (arc, y))
        self.factor, self.free = self._factored()

    @staticmethod
    def _scalar_order(shape: Basis, mesh: MeshQuad2) -> np.ndarray:
        """Node of the mesh that each unknown of the scalar basis sits on."""
        return cKDTree(mesh.doflocs.T).query(shape.doflocs.T)[1]

    def _factored(self):
        e, nu = self.modulus, self.poisson
        lame, shear = e * nu / (1 + nu) / (1 - 2 * nu), e / 2 / (1 + nu)

        @BilinearForm
        def work(u, v, w):
            r = w.x[1]
            du, dv = u.grad, v.grad
            hoop_u, hoop_v = u[1] / r, v[1] / r
            trace_u, trace_v = du[0, 0] + du[1, 1] + hoop_u, dv[0, 0] + dv[1, 1] + hoop_v
            direct = du[0, 0] * dv[0, 0] + du[1, 1] * dv[1, 1] + hoop_u * hoop_v
            sheared = (du[0, 1] + du[1, 0]) * (dv[0, 1] + dv[1, 0]) / 2
            return (lame * trace_u * trace_v + 2 * shear * (direct + sheared)) * r

        matrix = asm(work, self.basis).tocsc()
        axial_held = np.argmin(np.hypot(*(self.basis.doflocs - self._tail_middle()[:, None])))
        free = np.setdiff1d(np.arange(matrix.shape[0]), [axial_held])
        return splu(matrix[free][:, free]), free

    def _tail_middle(self) -> np.ndarray:
        return np.array([self.line.z(0.0), self.line.r(0.0)])

    def release(self, n_s, n_theta, m_s, m_theta, at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Axial and radial displacement of the middle line at arcs `at`; resultants are functions of the
        arc.
        """
        arc, y, t = self.arc, self.height, self.t
        slope = self.line.slope(arc)
        along, around = (n(arc) / t + 12 * m(arc) * y / t**3 for n, m in ((n_s, m_s), (n_theta, m_theta)))
        along = along / (1 + y * np.cos(slope) / self.line.r(arc))
        around = around / (1 - y * self.line.slope(arc, 1))
        c, s = np.cos(slope), np.sin(slope)

        @LinearForm
        def locked(v, w):
            dv = v.grad
            stretch = c * c * dv[0, 0] + s * s * dv[1, 1] + c * s * (dv[0, 1] + dv[1, 0])
            return -(along * stretch + around * v[1] / w.x[1]) * w.x[1]

        u = np.zeros(self.basis.N)
        u[self.free] = self.factor.solve(asm(locked, self.basis)[self.free])
        points = np.stack([self.line.z(at), self.line.r(at)])
        return self._on_middle(u, points)

    def _on_middle(self, u: np.ndarray, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        nodes = self.basis.doflocs
        moved = []
        for component in (0, 1):
            own = np.concatenate([d[component::2].ravel() for d in self._families()])
            distance, nearest = cKDTree(nodes[:, own].T).query(points.T)
            assert distance.max() < 1e-6, "a station is not a node of the solid"
            moved.append(u[own[nearest]])
        return moved[0], moved[1]

    def _families(self) -> list[np.ndarray]:
        dofs = self.basis.dofs
        return [d for d in (dofs.nodal_dofs, dofs.facet_dofs, dofs.interior_dofs) if d is not None and d.size]

    def middle_arcs(self) -> np.ndarray:
        """Arcs of the nodes on the middle line, increasing."""
        arc, y = self.place
        return np.unique(np.round(arc[np.abs(y) < 1e-12], 9))
