"""Single values against their own moving range: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

__all__ = ["MOVING_RANGE_OF_TWO", "individual_limits"]

MOVING_RANGE_OF_TWO = 2.0 / np.sqrt(np.pi)  # mean range of two values of a unit normal (d2)


def individual_limits(values: Sequence[float]) -> tuple[float, float, float]:
    """Lower limit, mean and upper limit: three standard deviations, taken from the mean moving range of two.

    Raises ValueError with fewer than two values.
    """
    given = np.asarray(values, dtype=float)
    if given.size < 2:
        raise ValueError(f"found {given.size} values, expected at least 2")
    middle, sd = float(given.mean()), float(np.abs(np.diff(given)).mean()) / MOVING_RANGE_OF_TWO
    return middle - 3.0 * sd, middle, middle + 3.0 * sd
