"""The hierarchical regression: bells within batches within a shop, solved from the bells' summaries.

    field coefficients of a batch   c = beta * exp(eta),   eta = x gamma + labels + u      (hoop; meridional and moment)
    a bell                          c * (1 + v) + smooth remainder + wall + seats

u is the batch's own multiplier, v the bell's; both of hoop and of meridional share. Seats, wall, v and the bell's
remainder are eliminated bell by bell, u batch by batch, and what is left is one small system for the shop. The
exponential is linearised about the last solution (Gauss-Newton); at the optimum the same matrices are the
Laplace approximation of the posterior. Equations: Gelman et al., Bayesian Data Analysis, 3rd ed., ch. 4 and 15.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.learning.layout import ALONG, HOOP, Layout
from springfit.learning.spreads import Prior, Spreads
from springfit.learning.stress_basis import FIELDS
from springfit.learning.summaries import REMAINDERS, Columns, Summaries

__all__ = ["BatchPosterior", "Posterior", "Start", "local_turn", "solve"]

Floats = NDArray[np.float64]

_ROUNDS = 20  # Gauss-Newton rounds; half steps, so each halves the distance
_SETTLED = 2e-3  # largest change of a log multiplier at which the rounds stop
_LARGEST_STEP = 0.5  # of a log multiplier in one round


@dataclass(frozen=True)
class BatchPosterior:
    """One batch: its multipliers `u` (2,) with covariance given the shop `within` (2, 2), and how they lean on the
    shop's unknowns, `lean` (2, unknowns): u = u_hat - lean (theta - theta_hat)."""

    u: Floats
    within: Floats
    lean: Floats
    coefficients: Floats
    """Shared columns' coefficients at the optimum (columns.shared,)."""
    spread: Floats
    """Posterior covariance of those coefficients, (shared, shared)."""


@dataclass(frozen=True)
class Posterior:
    """Shop unknowns `mean` (unknowns,), `covariance`; batches by id; bells' local means and second moments."""

    mean: Floats
    covariance: Floats
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
    """First guess of a solve: the shop's unknowns (unknowns,) of its layout, and multipliers (2,) by batch."""

    mean: Floats
    multipliers: Mapping[str, Floats]


def solve(
    summaries: Summaries, layout: Layout, prior: Prior, spreads: Spreads, start: Start | None = None
) -> Posterior:
    """Posterior of shop, batches and bells given the spreads (hyperparameters). `start` warms it up."""
    theta = prior.mean.copy() if start is None else start.mean.copy()
    multipliers = {batch: np.zeros(2) for batch in layout.batch_ids}
    if start is not None:
        multipliers.update(
            {b: start.multipliers[b].copy() for b in layout.batch_ids if b in start.multipliers}
        )
    members = _members(summaries, layout)
    precision = prior.precision(spreads)
    for rounds in range(1, _ROUNDS + 1):
        steps = _Round(summaries, layout, prior, spreads, members, precision, theta, multipliers)
        theta_new, u_new = steps.minimum()
        change = max(
            [float(np.max(np.abs(u_new[b] - multipliers[b]))) for b in layout.batch_ids], default=0.0
        )
        log_parts = layout.log_multipliers
        moved = theta_new - theta
        change = max(change, float(np.max(np.abs(moved[log_parts]), initial=0.0)))
        # A bell's own multiplier acts on coefficients of the last round, so full steps can swing about the optimum.
        factor = min(1.0 if rounds == 1 else 0.5, _LARGEST_STEP / max(change, 1e-12))
        theta = theta + factor * moved
        multipliers = {b: multipliers[b] + factor * (u_new[b] - multipliers[b]) for b in layout.batch_ids}
        if change < _SETTLED:
            break
    return steps.posterior(rounds)


def _members(summaries: Summaries, layout: Layout) -> dict[str, NDArray[np.intp]]:
    batch = np.array(summaries.batch_ids, dtype=object)
    return {b: np.flatnonzero(batch == b) for b in layout.batch_ids}


@dataclass(frozen=True)
class _Eliminated:
    """A batch without its own multipliers: the shop's unknowns it `touched`, and what `_Round` needs again."""

    touched: NDArray[np.intp]
    inner: Floats
    lean: Floats
    pull: Floats
    turn: Floats
    own: Floats
    offset: Floats


class _Round:
    """One linearisation: the bells eliminated into batches, the batches into the shop."""

    def __init__(
        self,
        summaries: Summaries,
        layout: Layout,
        prior: Prior,
        spreads: Spreads,
        members: dict[str, NDArray[np.intp]],
        precision: Floats,
        theta: Floats,
        multipliers: dict[str, Floats],
    ) -> None:
        self.summaries, self.layout, self.prior, self.spreads = summaries, layout, prior, spreads
        self.members, self.precision = members, precision
        self.local: dict[str, tuple[Floats, Floats, Floats]] = {}
        self.batch: dict[str, _Eliminated] = {}
        self.matrix = precision.copy()
        self.vector = precision @ prior.mean
        self.log_determinant = 0.0
        self.square = float(prior.mean @ precision @ prior.mean)
        for batch in layout.batch_ids:
            self._add_batch(batch, theta, multipliers[batch])

    def _add_batch(self, batch: str, theta: Floats, u: Floats) -> None:
        k, everything, own = self.layout.linearised(batch, theta, u)
        touched = np.flatnonzero(everything.any(axis=0))  # a batch knows of its own labels and mandrel only
        turn = everything[:, touched]
        gram, moment, lost = self._without_bells(batch, k)
        spread = self.spreads.batch_variance(self.layout, batch, theta)
        offset = k - turn @ theta[touched] - own @ u
        force = moment - gram @ offset
        huu = own.T @ gram @ own + np.diag(1.0 / spread)
        pulled = gram @ turn
        hug, hgg = own.T @ pulled, turn.T @ pulled
        bu, bg = own.T @ force, turn.T @ force
        inner = np.linalg.inv(huu).astype(np.float64)
        lean = inner @ hug
        self.matrix[np.ix_(touched, touched)] += hgg - hug.T @ lean
        self.vector[touched] += bg - lean.T @ bu
        self.square += float(lost - 2 * moment @ offset + offset @ gram @ offset - bu @ inner @ bu)
        self.log_determinant += float(np.linalg.slogdet(huu)[1] + np.log(spread).sum())
        self.batch[batch] = _Eliminated(touched, inner, lean, bu, turn, own, offset)

    def _without_bells(self, batch: str, k: Floats) -> tuple[Floats, Floats, float]:
        """Gram, moment and square of the batch with its bells' own unknowns eliminated."""
        index, shared = self.members[batch], self.summaries.columns.shared
        gram, moment = self.summaries.gram[index], self.summaries.moment[index]
        turn = local_turn(self.summaries.columns, k)
        variance = self.spreads.local_variance(self.summaries.datum[index])
        across = turn.T @ gram
        block = across @ turn
        diagonal = np.arange(block.shape[1])
        block[:, diagonal, diagonal] += 1.0 / variance
        cross, force = across[:, :, :shared], moment @ turn
        solved = np.linalg.solve(block, np.concatenate((cross, force[:, :, None]), axis=2))
        weight, first = np.asarray(solved[:, :, :-1], float), np.asarray(solved[:, :, -1], float)
        self.local[batch] = (block, weight, first)
        self.log_determinant += float(np.linalg.slogdet(block)[1].sum() + np.log(variance).sum())
        reduced = gram[:, :shared, :shared].sum(0) - cross.reshape(-1, shared).T @ weight.reshape(-1, shared)
        pull = moment[:, :shared].sum(0) - np.einsum("blm,bl->m", cross, first)
        lost = float(self.summaries.square[index].sum() - np.einsum("bl,bl->", force, first))
        return reduced, pull, lost

    def minimum(self) -> tuple[Floats, dict[str, Floats]]:
        theta = np.linalg.solve(self.matrix, self.vector).astype(np.float64)
        return theta, {b: p.inner @ p.pull - p.lean @ theta[p.touched] for b, p in self.batch.items()}

    def posterior(self, rounds: int) -> Posterior:
        covariance = np.linalg.inv(self.matrix)
        covariance = (covariance + covariance.T) / 2
        theta, multipliers = self.minimum()
        batches, bells, layout = {}, self.summaries, self.layout
        local = _local_count(bells)
        mean, second = np.zeros((len(bells.bell_ids), local)), np.zeros((len(bells.bell_ids), local))
        for batch in layout.batch_ids:
            part = self.batch[batch]
            turned, at = part.turn - part.own @ part.lean, part.touched
            spread = turned @ covariance[np.ix_(at, at)] @ turned.T + part.own @ part.inner @ part.own.T
            k = part.offset + part.turn @ theta[at] + part.own @ multipliers[batch]
            lean = np.zeros((2, len(theta)))
            lean[:, at] = part.lean
            batches[batch] = BatchPosterior(multipliers[batch], part.inner, lean, k, spread)
            block, weight, first = self.local[batch]
            index = self.members[batch]
            mean[index] = first - weight @ k
            own = np.einsum("bii->bi", np.linalg.inv(block)) if len(index) else np.zeros((0, local))
            second[index] = mean[index] ** 2 + own + np.sum((weight @ spread) * weight, axis=2)
        square = self.square - self.vector @ theta
        log_prior = float(np.linalg.slogdet(self.precision)[1])
        log_posterior = float(np.linalg.slogdet(self.matrix)[1])
        evidence = -0.5 * (square + self.log_determinant + log_posterior - log_prior)
        return Posterior(theta, covariance, batches, mean, second, float(evidence), rounds)


def _local_count(summaries: Summaries) -> int:
    return summaries.columns.all - summaries.columns.shared + 2 + REMAINDERS


def local_turn(columns: Columns, k: Floats) -> Floats:
    """How a bell's own unknowns (seats, wall, v, remainder) act on the columns, (all, local)."""
    fields = len(FIELDS)
    nuisances = columns.all - columns.shared
    turn = np.zeros((columns.all, nuisances + 2 + REMAINDERS))
    turn[columns.shared + 1 :, : nuisances - 1] = np.eye(nuisances - 1)
    turn[columns.shared, nuisances - 1] = 1.0
    turn[:fields, nuisances] = k[:fields] * HOOP
    turn[:fields, nuisances + 1] = k[:fields] * ALONG
    turn[fields : fields + REMAINDERS, nuisances + 2 :] = np.eye(REMAINDERS)
    return turn
