"""A model of format 3 told as one of format 4, with the numbers it had.

Format 3 kept what features change of laid states among its columns, last of them, change by change; since
format 4 they stand after the labels, with what features change of free shapes, which format 3 did not know: those are
at nought, and sure.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from springfit.learning.basis.stress_fields import FIELDS, LAID_CHANGES, LAID_FROM
from springfit.learning.features.batch_features import BATCH_FEATURES
from springfit.learning.regression.link import TOLD
from springfit.learning.regression.structures import NEVER

__all__ = ["THREE", "raised"]

THREE = 3
MOVED = len(LAID_CHANGES) * len(LAID_FROM)
ADDED = (TOLD - 1) * len(LAID_FROM) - MOVED


def raised(told: Mapping[str, Any], arrays: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    """The arrays of a model that was `told` in format 3, in the places of format 4; KeyError, TypeError, IndexError
    or ValueError where the two do not fit."""
    labels = sum(len(levels) for levels in told["levels"])
    first, last = len(FIELDS), len(FIELDS) + MOVED
    after = last + len(BATCH_FEATURES) + labels
    new = dict(arrays)
    for name in (str(one["name"]) for one in told["structures"]):
        mean, covariance = arrays[f"mean_{name}"], arrays[f"covariance_{name}"]
        order = np.r_[0:first, last:after, first:last, after : len(mean)]
        known = np.arange(len(order) + ADDED)
        known = np.delete(known, np.s_[after : after + ADDED])
        new[f"mean_{name}"] = np.zeros(len(order) + ADDED)
        new[f"mean_{name}"][known] = mean[order]
        new[f"covariance_{name}"] = NEVER**2 * np.eye(len(order) + ADDED)
        new[f"covariance_{name}"][np.ix_(known, known)] = covariance[np.ix_(order, order)]
    return new
