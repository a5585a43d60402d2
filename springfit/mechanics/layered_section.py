"""One wall section cut into layers: strains, stresses, resultants and their consistent tangent."""

from __future__ import annotations

__all__ = ["LayerHistory", "LayeredSection", "SectionForces"]

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying_material import FlowCurve, plane_stress_return

Array = NDArray[np.float64]


@dataclass(frozen=True)
class LayerHistory:
    """Plastic strains of every layer of every section, arrays (sections, layers) [-]."""

    plastic_s: Array
    plastic_hoop: Array
    equivalent: Array

    @classmethod
    def virgin(cls, sections: int, layers: int) -> LayerHistory:
        """History of metal that has never yielded."""
        zero = np.zeros((sections, layers))
        return cls(zero, zero.copy(), zero.copy())


@dataclass(frozen=True)
class SectionForces:
    """Work-conjugates of (a, kappa, r, c) per unit parameter length, their tangent, and the layer stresses.

    `force` (n, 4), `tangent` (n, 4, 4), `stress_s`, `stress_hoop` (n, layers) [MPa], `history` after the step.
    """

    force: Array
    tangent: Array
    stress_s: Array
    stress_hoop: Array
    history: LayerHistory


@dataclass(frozen=True)
class LayeredSection:
    """Sections of a shell of revolution, `layers` Gauss points through the wall, known by their unstressed shape.

    A section is described by q = (a, kappa, r, c): length of the meridian per unit of its parameter [-], curvature
    d phi / d s [1/mm], radius [mm] and cos phi, all of the middle surface. At height h [mm] above it the strains are
    e_s = ln[a (1 - h kappa)] and e_hoop = ln(r + h c), each less its value in the unstressed shape `reference` (n, 4).
    `wall` [mm] is (n,). Normals stay straight and normal (Kirchhoff); the thinning of the wall is left out of h.
    """

    reference: Array
    wall: Array
    layers: int
    curve: FlowCurve

    @cached_property
    def heights(self) -> tuple[Array, Array]:
        """Layer heights [mm] and weights [mm], arrays (n, layers), inside to outside."""
        point, weight = np.polynomial.legendre.leggauss(self.layers)
        return 0.5 * self.wall[:, None] * point, 0.5 * self.wall[:, None] * weight

    def strains(self, q: Array) -> tuple[Array, Array]:
        """Meridional and hoop logarithmic strain of every layer, arrays (n, layers) [-]."""
        h, _ = self.heights
        a, kappa, r, c = (q[:, k, None] for k in range(4))
        a0, kappa0, r0, c0 = (self.reference[:, k, None] for k in range(4))
        along = np.log(a / a0 * (1.0 - h * kappa) / (1.0 - h * kappa0))
        return along, np.log((r + h * c) / (r0 + h * c0))

    @cached_property
    def volumes(self) -> Array:
        """Unstressed volume of every layer per radian and unit parameter length, (n, layers) [mm^2]."""
        h, weight = self.heights
        a0, kappa0, r0, c0 = (self.reference[:, k, None] for k in range(4))
        return weight * a0 * (1.0 - h * kappa0) * (r0 + h * c0)

    def forces(self, q: Array, history: LayerHistory) -> SectionForces:
        """Generalised forces and tangent at q (n, 4), the history before the step being `history`."""
        along, hoop = self.strains(q)
        state = plane_stress_return(
            along,
            hoop,
            plastic_1=history.plastic_s,
            plastic_2=history.plastic_hoop,
            equivalent=history.equivalent,
            curve=self.curve,
        )
        h, _ = self.heights
        v = self.volumes
        a, kappa, r, c = (q[:, k, None] for k in range(4))
        one = np.ones_like(h)
        # First derivatives of e_s by (a, kappa) and of e_hoop by (r, c).
        s1, s2 = one / a, -h / (1.0 - h * kappa)
        t1 = one / (r + h * c)
        t2 = h * t1
        vs, vt = v * state.stress_1, v * state.stress_2
        force = np.stack([(vs * s1), (vs * s2), (vt * t1), (vt * t2)], axis=1).sum(axis=2)
        c11, c12, c22 = v * state.tangent_11, v * state.tangent_12, v * state.tangent_22
        # The second derivatives of the logarithms are minus the products of the first ones.
        k11, k22 = c11 - vs, c22 - vt
        rows = np.empty((len(q), 4, 4))
        rows[:, 0, 0] = (k11 * s1 * s1).sum(axis=1)
        rows[:, 1, 1] = (k11 * s2 * s2).sum(axis=1)
        rows[:, 0, 1] = rows[:, 1, 0] = (c11 * s1 * s2).sum(axis=1)
        rows[:, 2, 2] = (k22 * t1 * t1).sum(axis=1)
        rows[:, 3, 3] = (k22 * t2 * t2).sum(axis=1)
        rows[:, 2, 3] = rows[:, 3, 2] = (k22 * t1 * t2).sum(axis=1)
        for i, left in enumerate((s1, s2)):
            for j, right in enumerate((t1, t2)):
                rows[:, i, 2 + j] = rows[:, 2 + j, i] = (c12 * left * right).sum(axis=1)
        after = LayerHistory(state.plastic_1, state.plastic_2, state.equivalent)
        return SectionForces(force, rows, state.stress_1, state.stress_2, after)

    def resultants(self, forces: SectionForces) -> tuple[Array, Array, Array, Array]:
        """N_s, N_theta [N/mm], M_s, M_theta [N] from the layer stresses (plain integrals over the wall), each (n,)."""
        h, weight = self.heights
        s, t = forces.stress_s * weight, forces.stress_hoop * weight
        return s.sum(axis=1), t.sum(axis=1), (s * h).sum(axis=1), (t * h).sum(axis=1)
