"""One wall section cut into layers: strains, stresses, resultants and their consistent tangent.

A section is described by q = (a, kappa, r, c): length of the meridian per unit of its parameter [-], curvature
d phi / d s [1/mm], radius [mm] and cos phi, all of the middle surface. At height h [mm] above it the strains are
e_s = ln[a (1 - h kappa)] and e_hoop = ln(r + h c), each less its value in the unstressed shape. Normals stay straight
and normal (Kirchhoff); the thinning of the wall is left out of h.
"""

from __future__ import annotations

__all__ = ["EQUIVALENT", "FLOW", "PLASTIC_HOOP", "PLASTIC_S", "Sections", "section_forces", "virgin"]

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.kernels.compiled import inlined
from springfit.mechanics.laying.plasticity import FlowCurve, Metal, returned

Array = NDArray[np.float64]

# A history is an array (sections, layers, 4): plastic strains along the meridian, around, and equivalent [-], and the
# flow stress [MPa].
PLASTIC_S, PLASTIC_HOOP, EQUIVALENT, FLOW = range(4)


def virgin(sections: Sections) -> Array:
    """History of metal that has not yielded since its flow curve was measured."""
    metal = sections.metal
    history = np.zeros((len(sections.reference), len(sections.height), 4))
    history[..., FLOW] = metal.strength * metal.prestrain**metal.exponent
    return history


class Sections(NamedTuple):
    """Sections of one sheet (a named tuple: compiled code reads it), layers inside to outside.

    `reference` (n, 4) is q of the unstressed shape; `height`, `weight` (layers,) [mm] the places of the layers above
    the middle surface and the wall each stands for. `unstressed` (n, layers, 3) holds, of the unstressed shape,
    1/(length of a layer) [-], 1/(its radius) [1/mm] and its volume per radian and unit parameter length [mm^2].
    """

    reference: Array
    unstressed: Array
    height: Array
    weight: Array
    metal: Metal

    @classmethod
    def of(cls, reference: Array, *, wall: float, layers: int, curve: FlowCurve) -> Sections:
        """Sections with Gauss points through the wall [mm]."""
        point, weight = np.polynomial.legendre.leggauss(layers)
        h, share = 0.5 * wall * point, 0.5 * wall * weight
        a, kappa, r, c = (reference[:, k, None] for k in range(4))
        along, around = a * (1.0 - h * kappa), r + h * c
        unstressed = np.stack([1.0 / along, 1.0 / around, share * along * around], axis=2)
        return cls(np.ascontiguousarray(reference), unstressed, h, share, curve.metal)

    def first(self, sections: int) -> Sections:
        """The first so many sections."""
        return self._replace(
            reference=self.reference[:sections].copy(), unstressed=self.unstressed[:sections].copy()
        )

    @property
    def wall(self) -> float:
        """Wall [mm]."""
        return float(np.sum(self.weight))

    def strains(self, q: Array) -> tuple[Array, Array]:
        """Meridional and hoop logarithmic strain of every layer at q (n, 4), arrays (n, layers) [-]."""
        a, kappa, r, c = (q[:, k, None] for k in range(4))
        along = np.log(a * (1.0 - self.height * kappa) * self.unstressed[:, :, 0])
        return along, np.log((r + self.height * c) * self.unstressed[:, :, 1])

    def resultants(self, q: Array, history: Array) -> tuple[Array, Array, Array, Array]:
        """N_s, N_theta [N/mm], M_s, M_theta [N] (n,) at q with its `history`: integrals over the wall."""
        along, hoop = self.strains(q)
        plastic_s, plastic_hoop = history[..., PLASTIC_S], history[..., PLASTIC_HOOP]
        total = self.metal.kx * (along - plastic_s + hoop - plastic_hoop)
        difference = self.metal.ky * (along - plastic_s - hoop + plastic_hoop)
        s, t = 0.5 * (total + difference), 0.5 * (total - difference)
        moment = self.weight * self.height
        return s @ self.weight, t @ self.weight, s @ moment, t @ moment


@inlined
def _add_layer(force, tangent, v, one, two, c11, c12, c22, s1, s2, t1, t2):  # type: ignore[no-untyped-def]
    """A layer of volume `v` added: derivatives of e_s by (a, kappa) are s1, s2, of e_hoop by (r, c) t1, t2; the second
    derivatives are minus their products."""
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


@inlined
def section_forces(i, a, kappa, r, c, sections, before, after, force, tangent):  # type: ignore[no-untyped-def]
    """Work-conjugates of q per unit parameter length into `force` (4,), their derivatives into `tangent` (4, 4).

    The history before the step is read from `before`, that after it written into `after`, both at section i. Returns
    how far the layer nearest to yielding is from it [MPa], 0 where one yields, nan where q is no shape of a sheet.
    """
    force[:], tangent[:] = 0.0, 0.0
    spare, s1 = math.inf, 1.0 / a
    for layer in range(sections.height.size):
        h = sections.height[layer]
        u, w = 1.0 - h * kappa, r + h * c
        if u <= 0.0 or w <= 0.0 or a <= 0.0:
            return math.nan
        one, two, c11, c12, c22, p1, p2, pe, flow, left = returned(
            math.log(a * u * sections.unstressed[i, layer, 0]),
            math.log(w * sections.unstressed[i, layer, 1]),
            before[i, layer, PLASTIC_S],
            before[i, layer, PLASTIC_HOOP],
            before[i, layer, EQUIVALENT],
            before[i, layer, FLOW],
            sections.metal,
        )
        after[i, layer, PLASTIC_S], after[i, layer, PLASTIC_HOOP] = p1, p2
        after[i, layer, EQUIVALENT], after[i, layer, FLOW] = pe, flow
        if not left >= spare:
            spare = left
        volume = sections.unstressed[i, layer, 2]
        _add_layer(force, tangent, volume, one, two, c11, c12, c22, s1, -h / u, 1.0 / w, h / w)
    for row in range(4):
        for column in range(row):
            tangent[row, column] = tangent[column, row]
    return spare
