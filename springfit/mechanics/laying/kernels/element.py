"""Meridian elements of the laying model: position interpolated by cubic Hermite polynomials in both coordinates.

At each Gauss point the list y = (z', z'', z, r', r'', r) describes the curve, primes by the mesh parameter.
"""

from __future__ import annotations

__all__ = ["Elements", "MeridianMesh", "add_to_element", "point_of", "section_shape", "shape_hessian"]

import math
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.kernels.compiled import inlined, inner

Array = NDArray[np.float64]


class Elements(NamedTuple):
    """A mesh for compiled code: `step` (elements,) [mm] and `shape` (elements, points, 3, 4).

    `shape` takes the four z (or r) unknowns of an element to (z', z'', z); `weight` (elements, points) [mm] is that of
    the quadrature.
    """

    step: Array
    shape: Array
    weight: Array


@dataclass(frozen=True)
class MeridianMesh:
    """Two-node elements on a parameter axis `nodes` (m,) [mm], with `points` Gauss points each.

    A node carries (z, r, dz/dp, dr/dp); nodal values are arrays (m, 4). The interpolation is C1, so a Kirchhoff shell
    needs no rotation of its own. Two points, fewer than would be exact: with three the membrane stiffens the bending
    and elements have to be a third as long for the same gap.
    """

    nodes: Array
    points: int = 2

    @cached_property
    def _gauss(self) -> tuple[Array, Array]:
        point, weight = np.polynomial.legendre.leggauss(self.points)
        return 0.5 * (1.0 + point), 0.5 * weight

    @cached_property
    def parameters(self) -> Array:
        """Mesh parameter of the Gauss points, (elements * points,) [mm]."""
        step = np.diff(self.nodes)
        return (self.nodes[:-1, None] + step[:, None] * self._gauss[0]).ravel()

    @cached_property
    def elements(self) -> Elements:
        """The mesh as compiled code takes it."""
        x, weight = self._gauss
        step = np.diff(self.nodes)
        value = np.stack([1 - 3 * x**2 + 2 * x**3, x - 2 * x**2 + x**3, 3 * x**2 - 2 * x**3, x**3 - x**2])
        first = np.stack([-6 * x + 6 * x**2, 1 - 4 * x + 3 * x**2, 6 * x - 6 * x**2, 3 * x**2 - 2 * x])
        second = np.stack([-6 + 12 * x, -4 + 6 * x, 6 - 12 * x, 6 * x - 2])
        by_length = np.stack([first.T, second.T, value.T], axis=1)  # (points, 3, 4)
        powers = np.array([[-1, 0, -1, 0], [-2, -1, -2, -1], [0, 1, 0, 1]])
        shape = by_length * step[:, None, None, None] ** powers
        return Elements(step, shape, step[:, None] * weight)

    def curve(self, nodal: Array) -> Array:
        """y at the Gauss points from nodal values (m, 4): array (elements * points, 6)."""
        local = np.stack([nodal[:-1, [0, 2]], nodal[1:, [0, 2]]], axis=1).reshape(-1, 4)
        radial = np.stack([nodal[:-1, [1, 3]], nodal[1:, [1, 3]]], axis=1).reshape(-1, 4)
        y = [np.einsum("epkj,ej->epk", self.elements.shape, unknowns) for unknowns in (local, radial)]
        return np.concatenate(y, axis=2).reshape(-1, 6)

    def smoothed(self, values: Array) -> Array:
        """Element means of Gauss point values (elements * points,), joined by straight lines and read at the points.

        Between two Gauss points of an element membrane forces swing about their mean, which is what is in balance.
        """
        centres = 0.5 * (self.nodes[:-1] + self.nodes[1:])
        means = values.reshape(-1, self.points) @ self._gauss[1]
        return np.interp(self.parameters, centres, means)


def section_shape(y: Array) -> Array:
    """q = (a, kappa, r, c) (n, 4) from y (n, 6): a = |x'|, kappa = (z' r'' - r' z'')/a^3, c = z'/a."""
    a = np.hypot(y[:, 0], y[:, 3])
    return np.stack([a, (y[:, 0] * y[:, 4] - y[:, 3] * y[:, 1]) / a**3, y[:, 5], y[:, 0] / a], axis=1)


@inlined
def point_of(shape, e, p, nodal, node, y):  # type: ignore[no-untyped-def]
    """y at Gauss point p of element e into `y` (6,), from rows `node` and the next of `nodal` (m, 4)."""
    for k in range(3):
        n0, n1, n2, n3 = shape[e, p, k, 0], shape[e, p, k, 1], shape[e, p, k, 2], shape[e, p, k, 3]
        y[k] = n0 * nodal[node, 0] + n1 * nodal[node, 2] + n2 * nodal[node + 1, 0] + n3 * nodal[node + 1, 2]
        y[3 + k] = n0 * nodal[node, 1] + n1 * nodal[node, 3] + n2 * nodal[node + 1, 1] + n3 * nodal[node + 1, 3]


@inner
def shape_hessian(y, force, tangent, first, gradient, hessian):  # type: ignore[no-untyped-def]
    """`gradient` (6,) and `hessian` (6, 6) of the energy by y from those by q; `first` (4, 6) is dq/dy, written too."""
    dz, ddz, dr, ddr = y[0], y[1], y[3], y[4]
    a, moment = math.hypot(dz, dr), dz * ddr - dr * ddz
    c, s, inverse = dz / a, dr / a, 1.0 / a
    cubic = inverse * inverse * inverse
    tz, tr = -3.0 * cubic / a * c, -3.0 * cubic / a * s  # derivative of a^-3 by (z', r')
    for k in range(4):
        for i in range(6):
            first[k, i] = 0.0
    first[0, 0], first[0, 3] = c, s
    first[1, 0], first[1, 1] = ddr * cubic + moment * tz, -dr * cubic
    first[1, 3], first[1, 4] = -ddz * cubic + moment * tr, dz * cubic
    first[2, 5] = 1.0
    first[3, 0], first[3, 3] = s * s / a, -s * c / a
    for i in range(6):
        gradient[i] = 0.0
        for j in range(6):
            hessian[i, j] = 0.0
    for k in range(4):
        for i in range(6):
            if first[k, i] != 0.0:
                gradient[i] += force[k] * first[k, i]
                for m in range(4):
                    factor = first[k, i] * tangent[k, m]
                    for j in range(i + 1):
                        hessian[i, j] += factor * first[m, j]
    fa, fk, fc, outer = force[0], force[1], force[3], moment * cubic * inverse * inverse
    hessian[0, 0] += fa * s * s / a + fk * (2.0 * ddr * tz + outer * (15.0 * c * c - 3.0)) - 3.0 * fc * s * s * c / a**2
    hessian[3, 3] += fa * c * c / a + fk * (outer * (15.0 * s * s - 3.0) - 2.0 * ddz * tr)
    hessian[3, 3] += fc * (3.0 * s * s * c - c) / a**2
    hessian[3, 0] += fk * (ddr * tr - ddz * tz + 15.0 * outer * c * s) - fa * s * c / a
    hessian[3, 0] += fc * (2.0 * s - 3.0 * s**3) / a**2
    hessian[1, 0] -= fk * dr * tz
    hessian[3, 1] -= fk * (cubic + dr * tr)
    hessian[4, 0] += fk * (cubic + dz * tz)
    hessian[4, 3] += fk * dz * tr
    for i in range(6):
        for j in range(i):
            hessian[j, i] = hessian[i, j]


@inlined
def add_to_element(e, p, elements, gradient, hessian, force, stiffness):  # type: ignore[no-untyped-def]
    """Adds Gauss point p's share to nodal `force` (elements, 8), `stiffness` (elements, 8, 8) of element e."""
    weight, shape = elements.weight[e, p], elements.shape
    for k in range(4):
        for m in range(3):
            zz = zr = rz = rr = 0.0
            for n in range(3):
                factor = weight * shape[e, p, n, k]
                zz += hessian[m, n] * factor
                rz += hessian[3 + m, n] * factor
                zr += hessian[m, 3 + n] * factor
                rr += hessian[3 + m, 3 + n] * factor
            for j in range(4):
                part = shape[e, p, m, j]
                stiffness[e, 2 * j, 2 * k] += part * zz
                stiffness[e, 2 * j + 1, 2 * k] += part * rz
                stiffness[e, 2 * j, 2 * k + 1] += part * zr
                stiffness[e, 2 * j + 1, 2 * k + 1] += part * rr
            part = weight * shape[e, p, m, k]
            force[e, 2 * k] += gradient[m] * part
            force[e, 2 * k + 1] += gradient[3 + m] * part
