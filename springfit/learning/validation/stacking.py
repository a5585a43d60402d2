"""Weights of the structures by how they forecast what was left out: stacking of predictive densities.

    maximise over w:   sum_b log sum_m w_m p_mb + pseudo sum_m log w_m,    sum_m w_m = 1

p_mb is what structure m, its spread first set right on the same left-out batches, gave to batch b (Yao, Vehtari,
Simpson & Gelman 2018, Bayesian Analysis 13, 917-1007), its shape and its place together: what tells where a flare comes
to stand is the stress that shapes it, and places are read through seats that hide most of them. The second sum is a
Dirichlet prior of two: it holds the weights towards equal where little was left out, as two batches of evidence for
each structure do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import logsumexp, softmax
from scipy.stats import norm

from springfit.learning.forecasting.gap_forecast import Weighing, mixture_of
from springfit.normal_errors import BAND_90, BAND_LEVEL

__all__ = ["LeftOutErrors", "stacked", "weighings"]

Floats = NDArray[np.float64]

# Batches of good behaviour that a band is credited with beforehand; as a spread is (`estimation`); assumed
PSEUDO = 6.0
WIDEST = 8.0  # beyond that a structure knows nothing, and its weight says so; assumed
STATIONS = 24  # along a flare, at which errors of batches are held beside one another; more than there are facts
# Times what a structure says of itself: a few lucky batches may not close its band further; assumed
NARROWEST = 0.5


def stacked(log_density: Floats, *, pseudo: float = 1.0) -> Floats:
    """Weights (structures,) for log densities (batches, structures) of what was left out; `pseudo` is the strength of
    the prior (0: none)."""
    count = log_density.shape[1]

    def loss(free: Floats) -> float:
        log_weights = free - logsumexp(free)
        return -float(logsumexp(log_density + log_weights, axis=1).sum() + pseudo * log_weights.sum())

    found = minimize(loss, np.zeros(count), method="BFGS")
    return np.asarray(softmax(found.x), dtype=float)


@dataclass(frozen=True, eq=False)
class LeftOutErrors:
    """Of one kind (shape or place) and of each of the left-out `batches`: the errors and the variance said (structures,
    n) [mm, mm^2] of what was forecast, and the variance (n,) of what was measured there. No structure's band is stated
    less than `narrowest` times as wide as it says of itself."""

    batches: Sequence[tuple[Floats, Floats, Floats]]
    narrowest: float = NARROWEST

    @cached_property
    def wider(self) -> Floats:
        """By how much the standard deviation of each structure is to be multiplied, (structures,)."""
        each = range(len(self.batches[0][0]))
        return np.array([_wider([(error[m], said[m], noise) for error, said, noise in self.batches]) for m in each])

    @property
    def log_density(self) -> Floats:
        """What the structures gave to each batch, (batches, structures), their spreads set right."""
        told = [(error, self.wider[:, None] ** 2 * said + noise) for error, said, noise in self.batches]
        facts = _facts([error / np.sqrt(variance) for error, variance in told])
        return facts * np.array([_log_density(*one) for one in told])

    def weighed(self, weights: Floats) -> Weighing:
        """The structures by these weights, widened, and their mixture: that no less than its structures ask for, as
        what was measured is read by the same structures and shares their errors."""
        wider = np.maximum(self.wider, self.narrowest)
        bare = Weighing(tuple(map(float, weights)), tuple(map(float, wider)))
        mixtures = [(*mixture_of(error, variance, bare), noise) for error, variance, noise in self.batches]
        return replace(bare, scale=_scale(mixtures))


def weighings(*kinds: LeftOutErrors) -> tuple[Weighing, ...]:
    """Of each kind its widening, all with the weights that the same left-out batches give the structures by all of
    them."""
    weights = stacked(np.sum([kind.log_density for kind in kinds], axis=0))
    return tuple(kind.weighed(weights) for kind in kinds)


def _log_density(error: Floats, variance: Floats) -> Floats:
    """Mean log density (structures,) of errors (structures, n): what one fact of a batch says."""
    return np.mean(-0.5 * (error**2 / variance + np.log(2 * np.pi * variance)), axis=1)


def _facts(standard: list[Floats]) -> float:
    """How many independent facts the stations of one batch are, by the errors themselves: the participation ratio
    (tr C)^2 / tr C^2 of their second moments C, 1 where all stations err as one. `standard` errors (structures, n)."""
    along = np.linspace(0.0, 1.0, STATIONS)
    rows = [np.interp(along, np.linspace(0.0, 1.0, one.shape[1]), row) for one in standard for row in one]
    second = np.array(rows).T @ np.array(rows)
    return float(np.trace(second) ** 2 / np.sum(second**2))


def _scale(batches: list[tuple[Floats, Floats, Floats]]) -> float:
    """By how much the mixture's standard deviation is to be widened for its 90 % band to hold 90 % of what was left
    out, with `PSEUDO` batches for which it was right as it stands. Of each batch error, variance said and measured
    (n,): a quantile and no moment, for a rim that springs away now and then must not widen the band everywhere. A batch
    counts as far as its forecast is less sure than what was measured: readings that scatter more tell nothing of it."""
    tried = np.exp(np.linspace(0.0, np.log(WIDEST), 90))
    held, told = PSEUDO * (2.0 * norm.cdf(BAND_90 * tried) - 1.0), PSEUDO
    for error, said, noise in batches:
        tells = said / (said + noise)
        inside = np.abs(error) <= BAND_90 * np.sqrt(tried[:, None] ** 2 * said + noise)
        held, told = held + np.mean(inside * tells, axis=1), told + float(np.mean(tells))
    enough = held >= BAND_LEVEL * told
    return float(tried[int(np.argmax(enough))] if enough.any() else tried[-1])


def _wider(batches: list[tuple[Floats, Floats, Floats]]) -> float:
    """By how much a structure's standard deviation is to be multiplied: of the values tried the likeliest, with
    `PSEUDO` batches that found it right."""
    tried = np.exp(np.linspace(np.log(NARROWEST), np.log(WIDEST), 60))
    total = -PSEUDO * (np.log(tried) + 0.5 / tried**2)
    for error, said, noise in batches:
        variance = tried[:, None] ** 2 * said + noise
        total += np.mean(-0.5 * (error**2 / variance + np.log(variance)), axis=1)
    return float(tried[int(np.argmax(total))])
