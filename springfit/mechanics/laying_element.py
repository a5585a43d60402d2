"""Meridian elements of the laying model: position interpolated by cubic Hermite polynomials in both coordinates."""

from __future__ import annotations

__all__ = ["MeridianMesh", "section_derivatives"]

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

UNKNOWNS_PER_NODE = 4  # z, r and their derivatives by the mesh parameter
BANDWIDTH = 2 * UNKNOWNS_PER_NODE - 1


@dataclass(frozen=True)
class MeridianMesh:
    """Two-node elements on a parameter axis `nodes` (m,) [mm], with `points` Gauss points each.

    A node carries (z, r, dz/dp, dr/dp); nodal values are arrays (m, 4). The interpolation is C1, so a Kirchhoff shell
    needs no rotation of its own. At each Gauss point the list y = (z', r', z'', r'', r, z) describes the curve.
    """

    nodes: Array
    points: int = 3

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
    def weights(self) -> Array:
        """Quadrature weights in the parameter, (elements * points,) [mm]."""
        return (np.diff(self.nodes)[:, None] * self._gauss[1]).ravel()

    @cached_property
    def operator(self) -> Array:
        """Matrix from the eight element unknowns to y at each Gauss point, (elements, points, 6, 8)."""
        x = self._gauss[0]
        step = np.diff(self.nodes)[:, None]
        value = np.stack([1 - 3 * x**2 + 2 * x**3, x - 2 * x**2 + x**3, 3 * x**2 - 2 * x**3, x**3 - x**2])
        first = np.stack([-6 * x + 6 * x**2, 1 - 4 * x + 3 * x**2, 6 * x - 6 * x**2, 3 * x**2 - 2 * x])
        second = np.stack([-6 + 12 * x, -4 + 6 * x, 6 - 12 * x, 6 * x - 2])
        result = np.zeros((len(step), len(x), 6, 8))
        for k in range(4):
            node, slope = divmod(k, 2)
            scale = step**slope
            z, r = 4 * node + 2 * slope, 4 * node + 2 * slope + 1
            result[:, :, 0, z] = result[:, :, 1, r] = first[k] * scale / step
            result[:, :, 2, z] = result[:, :, 3, r] = second[k] * scale / step**2
            result[:, :, 4, r] = result[:, :, 5, z] = value[k] * scale
        return result

    def curve(self, nodal: Array) -> Array:
        """y at the Gauss points from nodal values (m, 4): array (elements * points, 6)."""
        local = np.concatenate([nodal[:-1], nodal[1:]], axis=1)
        return np.einsum("epij,ej->epi", self.operator, local).reshape(-1, 6)

    def smoothed(self, values: Array) -> Array:
        """Element means of Gauss point values (elements * points,), joined by straight lines and read at the points.

        Between two Gauss points of an element membrane forces swing about their mean, which is what is in balance.
        """
        centres = 0.5 * (self.nodes[:-1] + self.nodes[1:])
        means = values.reshape(-1, self.points) @ self._gauss[1]
        return np.interp(self.parameters, centres, means)

    def assemble(self, gradient: Array, hessian: Array) -> tuple[Array, Array]:
        """Residual (4 m,) and banded stiffness (15, 4 m) from derivatives by y at the Gauss points.

        `gradient` (points, 6) and `hessian` (points, 6, 6) already carry the quadrature weights.
        """
        elements = len(self.nodes) - 1
        b = self.operator
        g = gradient.reshape(elements, self.points, 6)
        h = hessian.reshape(elements, self.points, 6, 6)
        force = np.matmul(g[:, :, None, :], b)[:, :, 0, :].sum(axis=1)
        stiffness = np.matmul(b.transpose(0, 1, 3, 2), np.matmul(h, b)).sum(axis=1)
        size = UNKNOWNS_PER_NODE * len(self.nodes)
        residual = np.bincount(self._rows, weights=force.ravel(), minlength=size).astype(float)
        rows = 2 * BANDWIDTH + 1
        banded = np.bincount(self._band, weights=stiffness.ravel(), minlength=rows * size).astype(float)
        return residual, np.reshape(banded, (rows, size))

    @cached_property
    def _rows(self) -> NDArray[np.intp]:
        start = UNKNOWNS_PER_NODE * np.arange(len(self.nodes) - 1)
        return (start[:, None] + np.arange(8)).ravel()

    @cached_property
    def _band(self) -> NDArray[np.intp]:
        size = UNKNOWNS_PER_NODE * len(self.nodes)
        rows = self._rows.reshape(-1, 8)
        diagonal = BANDWIDTH + rows[:, :, None] - rows[:, None, :]
        return (diagonal * size + rows[:, None, :]).ravel()


def section_derivatives(y: Array) -> tuple[Array, Array, Array]:
    """q = (a, kappa, r, c) with first and second derivatives by y = (z', r', z'', r'', r, z).

    a = |x'|, kappa = (z' r'' - r' z'')/a^3, c = z'/a. Shapes (n, 4), (n, 4, 6), (n, 4, 6, 6).
    """
    dz, dr, ddz, ddr, r = y[:, 0], y[:, 1], y[:, 2], y[:, 3], y[:, 4]
    a = np.hypot(dz, dr)
    c, s = dz / a, dr / a
    kappa = (dz * ddr - dr * ddz) / a**3
    q = np.stack([a, kappa, r, c], axis=1)
    first = np.zeros((len(y), 4, 6))
    first[:, 0, 0], first[:, 0, 1] = c, s
    cubic = a**-3.0
    m = np.stack([ddr, -ddz, -dr, dz], axis=1)
    t = np.stack([c, s], axis=1)
    drop = -3.0 * (cubic / a)[:, None] * t  # derivative of a^-3 by (z', r')
    moment = kappa * a**3
    first[:, 1, :4] = m * cubic[:, None]
    first[:, 1, :2] += moment[:, None] * drop
    first[:, 2, 4] = 1.0
    first[:, 3, 0], first[:, 3, 1] = s * s / a, -s * c / a
    second = np.zeros((len(y), 4, 6, 6))
    second[:, 0, 0, 0], second[:, 0, 1, 1] = s * s / a, c * c / a
    second[:, 0, 0, 1] = second[:, 0, 1, 0] = -s * c / a
    k = second[:, 1]
    k[:, 0, 3] = k[:, 3, 0] = cubic
    k[:, 1, 2] = k[:, 2, 1] = -cubic
    cross = m[:, :, None] * drop[:, None, :]
    k[:, :4, :2] += cross
    k[:, :2, :4] += cross.transpose(0, 2, 1)
    outer = 15.0 * t[:, :, None] * t[:, None, :] - 3.0 * np.eye(2)
    k[:, :2, :2] += (moment * a**-5.0)[:, None, None] * outer
    second[:, 3, 0, 0] = -3.0 * s * s * c / a**2
    second[:, 3, 1, 1] = (3.0 * s * s * c - c) / a**2
    second[:, 3, 0, 1] = second[:, 3, 1, 0] = (2.0 * s - 3.0 * s**3) / a**2
    return q, first, second
