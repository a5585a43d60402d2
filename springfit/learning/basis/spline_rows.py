"""Rows of splines among the fields, and how far their neighbours may part: random walks about a level."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from springfit.learning.basis.stress_fields import FIELDS

__all__ = ["spline_rows", "walked"]


@cache
def spline_rows() -> dict[str, tuple[int, ...]]:
    """Places of the fields of each row of splines, by row name."""
    rows: dict[str, tuple[int, ...]] = {}
    for place, field in enumerate(FIELDS):
        if field.place >= 0:
            name = _row_name(field.name)
            rows[name] = (*rows.get(name, ()), place)
    return rows


def _row_name(name: str) -> str:
    """`hoop_flare_3` -> `hoop`, `meridional_flare_by_tool_nose_3` -> `meridional_by_tool_nose`."""
    share, rest = name.split("_flare")
    return share + rest[: rest.rindex("_")]


def walked(count: int, *, level: float, walk: float) -> NDArray[np.float64]:
    """Inverse covariance (count, count) of a row: its mean has the sd `level`, each step between neighbours `walk`."""
    step, mean = np.diff(np.eye(count), axis=0), np.full(count, 1.0 / count)
    return np.asarray(step.T @ step / walk**2 + np.outer(mean, mean) / level**2)
