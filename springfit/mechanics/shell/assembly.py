"""From element matrices and vectors to the banded system, with the tail held."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve_banded, cholesky_banded

from springfit.mechanics.shell.elements import UNKNOWNS

__all__ = ["HELD", "Tail", "factored", "gathered", "solved"]

Array = NDArray[np.float64]
Tail = Literal["axial", "clamped"]

HELD: dict[Tail, tuple[int, ...]] = {"axial": (0,), "clamped": (0, 1, 3)}  # unknowns of the first node


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


def gathered(local: Array) -> Array:
    """Element vectors (elements, 8, k) added up at the nodes, (nodes, 4, k)."""
    total = np.zeros((local.shape[0] + 1, UNKNOWNS, local.shape[2]))
    total[:-1] += local[:, :UNKNOWNS]
    total[1:] += local[:, UNKNOWNS:]
    return total


def solved(factor: Array, load: Array, tail: Tail) -> Array:
    """Unknowns (nodes, 4, k) under a load of that shape, with the tail held; the load is changed there."""
    load[0, HELD[tail]] = 0.0
    flat: Array = cho_solve_banded((factor, True), load.reshape(-1, load.shape[2]), check_finite=False)
    return flat.T.reshape(-1, *load.shape[:2]).transpose(1, 2, 0)  # the solver's order, without a copy
