"""From element matrices and vectors to the banded system, with the tail held."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve_banded, cholesky_banded

from springfit.mechanics.shell_elements import UNKNOWNS

__all__ = ["HELD", "NodalLoad", "Tail", "factored", "gathered", "gauss_points", "neighbours", "solved"]

Array = NDArray[np.float64]
Tail = Literal["axial", "clamped"]

HELD: dict[Tail, tuple[int, ...]] = {"axial": (0,), "clamped": (0, 1, 3)}  # unknowns of the first node


def gauss_points() -> tuple[Array, Array]:
    """Three Gauss points in [0, 1] and their weights: exact to the fifth power."""
    x, w = np.polynomial.legendre.leggauss(3)
    return (x + 1) / 2, w / 2


def factored(local: Array, tail: Tail) -> Array:
    """Lower banded Cholesky factor of the assembled element matrices (elements, 8, 8).

    A held unknown keeps a one on the diagonal and nothing else, so its load must be set to zero. Raises
    LinAlgError when the matrix is not positive definite.
    """
    count, width = local.shape[0], 2 * UNKNOWNS
    band = np.zeros((width, UNKNOWNS * (count + 1)))
    for column in range(width):
        for row in range(column, width):
            band[row - column, column : column + UNKNOWNS * count : UNKNOWNS] += local[:, row, column]
    for unknown in HELD[tail]:
        band[:, unknown] = 0.0
        band[np.arange(1, unknown + 1), np.arange(unknown - 1, -1, -1)] = 0.0
        band[0, unknown] = 1.0
    factor: Array = cholesky_banded(band, overwrite_ab=True, lower=True, check_finite=False)
    return factor


def neighbours(at_nodes: Array, count: int) -> Array:
    """Each run of `count` neighbouring nodes of (nodes, k, fields) in one row, (nodes - count + 1, count k,
    fields).

    A view: memory of many fields is dearer than the arithmetic.
    """
    nodes, rows, fields = at_nodes.shape
    values = np.ascontiguousarray(at_nodes)
    shape = (nodes - count + 1, count * rows, fields)
    return np.lib.stride_tricks.as_strided(values, shape, values.strides, writeable=False)


def gathered(local: Array) -> Array:
    """Element vectors (elements, 8, k) added up at the nodes, (nodes, 4, k)."""
    total = np.zeros((local.shape[0] + 1, UNKNOWNS, local.shape[2]))
    total[:-1] += local[:, :UNKNOWNS]
    total[1:] += local[:, UNKNOWNS:]
    return total


class NodalLoad:
    """The load on each node of resultants at itself and its two neighbours, from the element loads (elements,
    8, 8).
    """

    def __init__(self, local: Array) -> None:
        before, after = local[:-1, UNKNOWNS:], local[1:, :UNKNOWNS]
        self.inner = np.zeros((local.shape[0] - 1, UNKNOWNS, 3 * UNKNOWNS))
        self.inner[..., : 2 * UNKNOWNS] += before
        self.inner[..., UNKNOWNS:] += after
        self.first, self.last = local[0, :UNKNOWNS], local[-1, UNKNOWNS:]

    def of(self, at_nodes: Array) -> Array:
        """Load (nodes, 4, fields) of resultants at the nodes, (nodes, 4, fields)."""
        load = np.empty_like(at_nodes)
        load[0] = self.first @ neighbours(at_nodes[:2], 2)[0]
        load[-1] = self.last @ neighbours(at_nodes[-2:], 2)[0]
        np.matmul(self.inner, neighbours(at_nodes, 3), out=load[1:-1])
        return load


def solved(factor: Array, load: Array, tail: Tail) -> Array:
    """Unknowns (nodes, 4, k) under a load of that shape, with the tail held; the load is changed there."""
    load[0, HELD[tail]] = 0.0
    flat: Array = cho_solve_banded((factor, True), load.reshape(-1, load.shape[2]), check_finite=False)
    return flat.T.reshape(-1, *load.shape[:2]).transpose(1, 2, 0)  # the solver's order, without a copy
