"""One wall section cut into layers: strains, stresses, resultants and their consistent tangent.

A section is described by q = (a, kappa, r, c): length of the meridian per unit of its parameter [-], curvature
d phi / d s [1/mm], radius [mm] and cos phi, all of the middle surface. At height h [mm] above it the strains are
e_s = ln[a (1 - h kappa)] and e_hoop = ln(r + h c), each less its value in the unstressed shape. Normals stay straight
and normal (Kirchhoff); the thinning of the wall is left out of h.
"""

from __future__ import annotations

__all__ = ["History", "Sections", "section_forces"]

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.compiled import inner
from springfit.mechanics.laying.plasticity import FlowCurve, Metal, returned

Array = NDArray[np.float64]


class History(NamedTuple):
    """Plastic strains [-] of every layer of every section and its flow stress [MPa], arrays (sections, layers)."""

    plastic_s: Array
    plastic_hoop: Array
    equivalent: Array
    flow: Array

    @classmethod
    def virgin(cls, sections: Sections) -> History:
        """History of metal that has not yielded since its flow curve was measured."""
        shape = len(sections.reference), len(sections.height)
        metal = sections.metal
        start = metal.strength * metal.prestrain**metal.exponent
        return cls(np.zeros(shape), np.zeros(shape), np.zeros(shape), np.full(shape, start))

    def first(self, sections: int) -> History:
        """That of the first so many sections."""
        return History(*(column[:sections].copy() for column in self))


class Sections(NamedTuple):
    """Sections of one sheet (a named tuple: compiled code reads it), layers inside to outside.

    `reference` (n, 4) is q of the unstressed shape; `height`, `weight` (layers,) [mm] the places of the layers above
    the middle surface and the wall each stands for.
    """

    reference: Array
    height: Array
    weight: Array
    metal: Metal

    @classmethod
    def of(cls, reference: Array, *, wall: float, layers: int, curve: FlowCurve) -> Sections:
        """Sections with Gauss points through the wall [mm]."""
        point, weight = np.polynomial.legendre.leggauss(layers)
        return cls(np.ascontiguousarray(reference), 0.5 * wall * point, 0.5 * wall * weight, curve.metal)

    def first(self, sections: int) -> Sections:
        """The first so many sections."""
        return self._replace(reference=self.reference[:sections].copy())

    @property
    def wall(self) -> float:
        """Wall [mm]."""
        return float(np.sum(self.weight))

    def strains(self, q: Array) -> tuple[Array, Array]:
        """Meridional and hoop logarithmic strain of every layer at q (n, 4), arrays (n, layers) [-]."""
        h = self.height
        a, kappa, r, c = (q[:, k, None] for k in range(4))
        a0, kappa0, r0, c0 = (self.reference[:, k, None] for k in range(4))
        along = np.log(a / a0 * (1.0 - h * kappa) / (1.0 - h * kappa0))
        return along, np.log((r + h * c) / (r0 + h * c0))

    def resultants(self, q: Array, history: History) -> tuple[Array, Array, Array, Array]:
        """N_s, N_theta [N/mm], M_s, M_theta [N] (n,) at q with plastic strains `history`: integrals over the wall."""
        along, hoop = self.strains(q)
        total = self.metal.kx * (along - history.plastic_s + hoop - history.plastic_hoop)
        difference = self.metal.ky * (along - history.plastic_s - hoop + history.plastic_hoop)
        s, t = 0.5 * (total + difference), 0.5 * (total - difference)
        moment = self.weight * self.height
        return s @ self.weight, t @ self.weight, s @ moment, t @ moment


@inner
def section_forces(i, a, kappa, r, c, sections, before, after, force, tangent):  # type: ignore[no-untyped-def]
    """Work-conjugates of q per unit parameter length into `force` (4,), their derivatives into `tangent` (4, 4).

    The history before the step is read from `before`, that after it written into `after`, both at section i. Returns
    how far the layer nearest to yielding is from it [MPa], 0 where one yields, nan where q is no shape of a sheet.
    """
    a0, kappa0, r0, c0 = sections.reference[i]
    force[:] = 0.0
    tangent[:] = 0.0
    spare, s1 = math.inf, 1.0 / a
    for layer in range(sections.height.size):
        h = sections.height[layer]
        u0, u, w0, w = 1.0 - h * kappa0, 1.0 - h * kappa, r0 + h * c0, r + h * c
        if u <= 0.0 or w <= 0.0 or a <= 0.0:
            return math.nan
        one, two, c11, c12, c22, p1, p2, pe, flow, left = returned(
            math.log(a * u / (a0 * u0)),
            math.log(w / w0),
            before.plastic_s[i, layer],
            before.plastic_hoop[i, layer],
            before.equivalent[i, layer],
            before.flow[i, layer],
            sections.metal,
        )
        after.plastic_s[i, layer], after.plastic_hoop[i, layer] = p1, p2
        after.equivalent[i, layer], after.flow[i, layer] = pe, flow
        if not left >= spare:
            spare = left
        v = sections.weight[layer] * a0 * u0 * w0
        # Derivatives of e_s by (a, kappa) and of e_hoop by (r, c); the second ones are minus their products.
        s2, t1 = -h / u, 1.0 / w
        t2 = h * t1
        vs, vt, c12 = v * one, v * two, v * c12
        k11, k22 = v * c11 - vs, v * c22 - vt
        force[0] += vs * s1
        force[1] += vs * s2
        force[2] += vt * t1
        force[3] += vt * t2
        tangent[0, 0] += k11 * s1 * s1
        tangent[0, 1] += (k11 + vs) * s1 * s2
        tangent[1, 1] += k11 * s2 * s2
        tangent[2, 2] += k22 * t1 * t1
        tangent[2, 3] += k22 * t1 * t2
        tangent[3, 3] += k22 * t2 * t2
        tangent[0, 2] += c12 * s1 * t1
        tangent[0, 3] += c12 * s1 * t2
        tangent[1, 2] += c12 * s2 * t1
        tangent[1, 3] += c12 * s2 * t2
    for row in range(4):
        for column in range(row):
            tangent[row, column] = tangent[column, row]
    return spare
