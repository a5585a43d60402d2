"""What is known of a shop once its bells were heard: means, covariances, and where the next solve may begin."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["BatchPosterior", "Posterior", "Start"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class BatchPosterior:
    """One batch: its own unknowns `u` (OWN,) of `link` with their covariance (OWN, OWN)."""

    u: Floats
    covariance: Floats
    coefficients: Floats
    """Shared columns' coefficients at the optimum (columns.shared,)."""
    spread: Floats
    """Posterior covariance of those coefficients, (shared, shared)."""


@dataclass(frozen=True)
class Posterior:
    """Shop unknowns `mean` (unknowns,), `covariance` and its inverse `precision`; batches by id; bells' local means and
    second moments."""

    mean: Floats
    covariance: Floats
    precision: Floats
    batches: dict[str, BatchPosterior]
    bell_mean: Floats
    """(bells, local): seats, wall, v (2), remainder, in that order."""
    bell_second: Floats
    """(bells, local): posterior mean of each squared."""
    log_evidence: float
    rounds: int

    def start(self) -> Start:
        """Where a solve of nearly the same shop should begin."""
        return Start(self.mean, {batch: part.u for batch, part in self.batches.items()})


@dataclass(frozen=True)
class Start:
    """First guess of a solve: the shop's unknowns (unknowns,) of its layout, and batches' own (OWN,) by batch."""

    mean: Floats
    multipliers: Mapping[str, Floats]
