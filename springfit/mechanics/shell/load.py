"""From resultants at the nodes to loads on them, many fields at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.shell.elements import UNKNOWNS

__all__ = ["NodalLoad", "neighbours"]

Array = NDArray[np.float64]


def neighbours(at_nodes: Array, count: int) -> Array:
    """Runs of `count` neighbouring nodes of (nodes, k, fields), each in one row: (runs, count k, fields).

    A view: memory of many fields is dearer than the arithmetic.
    """
    nodes, rows, fields = at_nodes.shape
    values = np.ascontiguousarray(at_nodes)
    shape = (nodes - count + 1, count * rows, fields)
    return np.lib.stride_tricks.as_strided(values, shape, values.strides, writeable=False)


class NodalLoad:
    """The load on each node of resultants at itself and its two neighbours.

    local: element loads (elements, 8, 8), at least two elements.
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
