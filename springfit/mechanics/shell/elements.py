"""Curved two-node elements of an axisymmetric thin shell, all of them at once.

The middle surface is a cubic Hermite curve through the nodes with their tangents, and the displacement is a
cubic Hermite curve of the same kind. A motion along the axis and a uniform growth are therefore held exactly.

Nodal unknowns: axial and radial displacement [mm], then the two components of du/ds in the frame of the
undeformed meridian: stretch (along the tangent) and rotation (along the outward normal), both [-].

Strains of the Love-Kirchhoff shell (t tangent, n normal out of the steel, phi slope from the axis, kappa =
dphi/ds), with the sign that makes a moment positive when the outer face is in tension:

    e_s = t.u'      e_theta = u_r/r      k_s = -(n.u')'      k_theta = -sin(phi) (n.u')/r

Theory: Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, chapters 15-16.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["UNKNOWNS", "ElementSet", "elasticity", "element_set", "local_matrices"]

UNKNOWNS = 4  # a node: axial, radial, stretch, rotation

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ElementSet:
    """Geometry and shape functions at the Gauss points of every element; shapes (elements, points, ...).

    `weight` is r ds times the Gauss weight [mm^2]: the shell is integrated per radian, not per turn.
    `value`, `first`, `second` are the four Hermite functions and their derivatives along the arc.
    """

    end_frames: Array
    radius: Array
    cosine: Array
    sine: Array
    curvature: Array
    weight: Array
    value: Array
    first: Array
    second: Array

    def rotated(self, cartesian: Array) -> Array:
        """Turn (elements, ..., 2 components, 4 functions) into (elements, ..., 8 unknowns).

        The slope functions act on du/ds, whose components at a node are stretch and rotation.
        """
        c, s = self.end_frames[..., 0], self.end_frames[..., 1]
        middle = (slice(None),) + (None,) * (cartesian.ndim - 3)
        out = np.empty((*cartesian.shape[:-2], 8))
        for end in (0, 1):
            ce, se = c[:, end][middle], s[:, end][middle]
            dz, dr = cartesian[..., 0, 2 * end + 1], cartesian[..., 1, 2 * end + 1]
            out[..., 4 * end] = cartesian[..., 0, 2 * end]
            out[..., 4 * end + 1] = cartesian[..., 1, 2 * end]
            out[..., 4 * end + 2] = ce * dz + se * dr
            out[..., 4 * end + 3] = ce * dr - se * dz
        return out

    def strain_matrix(self) -> Array:
        """Rows e_s, e_theta, k_s, k_theta against the 8 unknowns: (elements, points, 4, 8)."""
        c, s, r = self.cosine[..., None], self.sine[..., None], self.radius[..., None]
        kappa = self.curvature[..., None]
        rows = np.zeros((*self.radius.shape, 4, 2, 4))
        rows[..., 0, 0, :], rows[..., 0, 1, :] = c * self.first, s * self.first
        rows[..., 1, 1, :] = self.value / r
        rows[..., 2, 0, :] = s * self.second + kappa * c * self.first
        rows[..., 2, 1, :] = kappa * s * self.first - c * self.second
        rows[..., 3, 0, :] = s * s * self.first / r
        rows[..., 3, 1, :] = -s * c * self.first / r
        return self.rotated(rows)


def element_set(s: Array, z: Array, r: Array, slope: Array, points: Array, weights: Array) -> ElementSet:
    """Elements between neighbouring nodes, evaluated at `points` in [0, 1] with quadrature `weights`."""
    c, n = np.cos(slope), np.sin(slope)
    h = np.diff(s)[:, None]
    value, first, second = (table[None] * _scaled(h) for table in _hermite(points))
    z_nodes = np.stack([z[:-1], c[:-1], z[1:], c[1:]], axis=1)[:, None]
    r_nodes = np.stack([r[:-1], n[:-1], r[1:], n[1:]], axis=1)[:, None]
    (zp, rp), (zq, rq) = ([(f * x).sum(-1) for x in (z_nodes, r_nodes)] for f in (first, second))
    metric = np.hypot(zp, rp)  # ds / dx of the parameter x in [0, 1]
    stretching = (zp * zq + rp * rq) / metric
    curvature = (zp * rq - rp * zq) / metric**3
    radius = (value * r_nodes).sum(-1)
    return ElementSet(
        end_frames=np.stack([np.stack([c[:-1], c[1:]], 1), np.stack([n[:-1], n[1:]], 1)], axis=-1),
        radius=radius,
        cosine=zp / metric,
        sine=rp / metric,
        curvature=curvature,
        weight=weights * metric * radius,
        value=value,
        first=first / metric[..., None],
        second=second / metric[..., None] ** 2 - first * (stretching / metric**3)[..., None],
    )


def elasticity(wall: Array, youngs_modulus: float, poisson_ratio: float) -> Array:
    """Resultants from strains, (..., 4, 4): E t/(1-nu^2) for the membrane, E t^3/12(1-nu^2) for bending."""
    membrane = youngs_modulus * wall / (1 - poisson_ratio**2)
    bending = membrane * wall**2 / 12
    stiffness = np.zeros((*wall.shape, 4, 4))
    for corner, size in ((0, membrane), (2, bending)):
        for i in (0, 1):
            stiffness[..., corner + i, corner + i] = size
            stiffness[..., corner + i, corner + 1 - i] = poisson_ratio * size
    return stiffness


def local_matrices(
    elements: ElementSet, strain: Array, stiffness: Array, points: Array
) -> tuple[Array, Array]:
    """Element stiffness (elements, 8, 8) and the load of unit resultants at its two ends (elements, 8, 8).

    Column 4 a + i of the load is resultant i (N_s, N_theta, M_s, M_theta) at end a, falling linearly to the
    other.
    """
    count, order = elements.weight.shape
    weighted = strain * elements.weight[..., None, None]
    left = weighted.reshape(count, 4 * order, 8).transpose(0, 2, 1)
    matrix = left @ (stiffness @ strain).reshape(count, 4 * order, 8)
    ends = np.stack([1 - points, points])  # (2, points)
    load = -np.einsum("ap,epik->ekai", ends, weighted).reshape(count, 8, 8)
    return matrix, load


def _hermite(x: Array) -> tuple[Array, Array, Array]:
    """The four cubic Hermite functions of x in [0, 1] (value, slope at 0; at 1), two derivatives each."""
    one = np.ones_like(x)
    value = np.stack([(1 + 2 * x) * (1 - x) ** 2, x * (1 - x) ** 2, x * x * (3 - 2 * x), x * x * (x - 1)], -1)
    first = np.stack([6 * x * (x - 1), (1 - x) * (1 - 3 * x), 6 * x * (1 - x), x * (3 * x - 2)], -1)
    second = np.stack([12 * x - 6 * one, 6 * x - 4 * one, 6 * one - 12 * x, 6 * x - 2 * one], -1)
    return value, first, second


def _scaled(h: Array) -> Array:
    """Factors that make the slope functions act on d/ds, with s taken over the element's length h."""
    one = np.ones_like(h)
    return np.stack([one, h, one, h], axis=-1)
