"""From element matrices and vectors to the banded system, with the tail held."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky_banded

from springfit.mechanics.shell_elements import UNKNOWNS

__all__ = ["HELD", "Tail", "factored", "gathered", "gauss_points"]

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


def gathered(local: Array) -> Array:
    """Element vectors (elements, 8, fields) added up into one, (unknowns, fields)."""
    count, _, fields = local.shape
    total = np.zeros((count + 1, UNKNOWNS, fields))
    total[:-1] += local[:, :UNKNOWNS]
    total[1:] += local[:, UNKNOWNS:]
    return total.reshape(-1, fields)
