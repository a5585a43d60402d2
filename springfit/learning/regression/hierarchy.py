"""The hierarchical regression: bells within batches within a shop, solved from the bells' summaries.

    coefficients of a batch         c of beta, what features and labels tell, and its own u        (`link`)
    a bell                          c * (1 + v) + smooth remainder + wall + seats

v is the bell's multiplier. Seats, wall, v and the bell's
remainder are eliminated bell by bell, u batch by batch, and what is left is one small system for the shop. The
exponential is linearised about the last solution (Gauss-Newton); at the optimum the same matrices are the
Laplace approximation of the posterior. Equations: Gelman et al., Bayesian Data Analysis, 3rd ed., ch. 4 and 15.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from springfit.learning.basis.stress_fields import FIELDS
from springfit.learning.regression.elimination import BatchSystem, BellsOfBatch, bells_of_batch
from springfit.learning.regression.layout import Layout
from springfit.learning.regression.link import ALONG, HOOP, OWN, TOLD
from springfit.learning.regression.posterior import BatchPosterior, Posterior, Start
from springfit.learning.regression.prior_sd import Prior, Spreads
from springfit.learning.regression.summaries import REMAINDERS, Columns, Summaries

__all__ = ["SETTLED", "information_of", "local_jacobian", "solve"]

Floats = NDArray[np.float64]

_ROUNDS = 20  # Gauss-Newton rounds; half steps, so each halves the distance
# Largest change of a log multiplier at which the rounds stop; 0.2 % of a gap, a micrometre of the widest
SETTLED = 2e-3
_LARGEST_STEP = 0.5  # of a log multiplier in one round; further off the exponential is not straight


def solve(
    summaries: Summaries,
    layout: Layout,
    prior: Prior,
    spreads: Spreads,
    start: Start | None = None,
    *,
    settled: float = SETTLED,
) -> Posterior:
    """Posterior of shop, batches and bells given the spreads (hyperparameters). `start` warms it up; rounds stop once
    no log multiplier changes by more than `settled`."""
    theta = prior.mean.copy() if start is None else start.mean.copy()
    multipliers = {batch: np.zeros(OWN) for batch in layout.batch_ids}
    if start is not None:
        multipliers.update(
            {b: start.multipliers[b].copy() for b in layout.batch_ids if b in start.multipliers}
        )
    parts = _parts(summaries, layout, prior, spreads)
    precision = prior.precision(spreads)
    for rounds in range(1, _ROUNDS + 1):
        steps = _Round(parts, layout, prior, spreads, precision).at(theta, multipliers)
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
        if change < settled:
            break
    return steps.posterior(rounds, summaries)


def information_of(
    summaries: Summaries, layout: Layout, prior: Prior, spreads: Spreads, known: Posterior
) -> tuple[Floats, Floats]:
    """What the batches of `layout` say of the shop's unknowns, linearised where they are `known` (of a layout with the
    same places): what they add to the precision (unknowns, unknowns), and to precision times mean (unknowns,)."""
    nothing = np.zeros((layout.size, layout.size))
    multipliers = {batch: known.batches[batch].u for batch in layout.batch_ids}
    parts = _parts(summaries, layout, prior, spreads)
    said = _Round(parts, layout, prior, spreads, nothing).at(known.mean, multipliers)
    return said.matrix, said.vector


@dataclass(frozen=True)
class _Part:
    """A batch's bells without seats, wall and remainder, and where the batch stands among the unknowns: `places` of its
    shared coefficients, the same for all batches of a `mandrel`, `met` of what tells of it with weights `rows` (TOLD,
    met)."""

    bells: BellsOfBatch
    mandrel: str
    places: NDArray[np.intp]
    met: NDArray[np.intp]
    rows: Floats


def _parts(summaries: Summaries, layout: Layout, prior: Prior, spreads: Spreads) -> dict[str, _Part]:
    """The parts by batch. What the prior holds at nought is not asked of any batch."""
    asked = prior.learned
    members: dict[str, list[int]] = {batch: [] for batch in layout.batch_ids}
    for index, batch in enumerate(summaries.batch_ids):
        if batch in members:
            members[batch].append(index)
    parts = {}
    for batch, bells_in in members.items():
        facts = layout.facts[batch]
        bells = bells_of_batch(summaries, np.array(bells_in, dtype=np.intp), spreads)
        rows = layout.told_rows(facts)
        met = np.flatnonzero(rows.any(axis=0) & asked)
        parts[batch] = _Part(bells, facts.mandrel_id, layout.places_of(facts), met, rows[:, met])
    return parts


@dataclass(frozen=True)
class _Eliminated:
    """A batch at one linearisation without its own unknowns u = inner pull - lean x. x are the unknowns it knows of:
    one a shared coefficient, and last what is told of it. k = `scale` x + `by_told` told + `own` u + `offset`."""

    system: BatchSystem
    scale: Floats
    by_told: Floats
    own: Floats
    offset: Floats
    inner: Floats
    lean: Floats
    pull: Floats


class _Round:
    """One linearisation: the bells eliminated into batches, the batches into the shop."""

    def __init__(
        self, parts: dict[str, _Part], layout: Layout, prior: Prior, spreads: Spreads, precision: Floats
    ) -> None:
        self.parts, self.layout, self.prior, self.spreads = parts, layout, prior, spreads
        self.precision = precision
        self.batch: dict[str, _Eliminated] = {}
        self.matrix, self.vector = precision.copy(), precision @ prior.mean
        self.log_determinant, self.square = 0.0, float(prior.mean @ precision @ prior.mean)

    def at(self, theta: Floats, multipliers: dict[str, Floats]) -> Self:
        """With what every batch says, linearised at the shop's `theta` and the batches' `multipliers`."""
        told, shared = self.layout.log_multipliers.start, self.layout.columns.shared
        of_mandrel = {
            part.mandrel: (part.places, np.zeros((shared, shared)), np.zeros((self.layout.size - told, shared)))
            for part in self.parts.values()
        }
        for batch in self.layout.batch_ids:
            part = self.parts[batch]
            matrix, vector = self._eliminated(batch, theta, multipliers[batch])
            _, among, mixed = of_mandrel[part.mandrel]
            among += matrix[:-TOLD, :-TOLD]
            mixed[part.met - told] += part.rows.T @ matrix[-TOLD:, :-TOLD]
            self.matrix[np.ix_(part.met, part.met)] += part.rows.T @ matrix[-TOLD:, -TOLD:] @ part.rows
            self.vector[part.places] += vector[:-TOLD]
            self.vector[part.met] += part.rows.T @ vector[-TOLD:]
        for places, among, mixed in of_mandrel.values():
            self.matrix[np.ix_(places, places)] += among
            self.matrix[told:, places] += mixed
            self.matrix[places, told:] += mixed.T
        return self

    def _eliminated(self, batch: str, theta: Floats, u: Floats) -> tuple[Floats, Floats]:
        """What a batch says of what it knows of, its own unknowns gone: equations (shared + TOLD, shared + TOLD), and
        their right-hand side (shared + TOLD,)."""
        part, count = self.parts[batch], len(FIELDS)
        told, x = part.rows @ theta[part.met], theta[part.places]
        linked = self.prior.structure.link.at(x[:count], told, u)
        k, scale, by_told, own = x.copy(), np.ones(len(x)), np.zeros((len(x), TOLD)), np.zeros((len(x), OWN))
        k[:count], scale[:count], by_told[:count], own[:count] = linked.k, linked.scale, linked.by_told, linked.own
        offset = k - scale * x - by_told @ told - own @ u
        system = part.bells.at(k)
        pulled = system.gram @ own
        force = system.moment - system.gram @ offset
        spread = self.spreads.batch_variance(self.layout, batch, theta)
        huu = own.T @ pulled + np.diag(1.0 / spread)
        inner = np.linalg.inv(huu).astype(np.float64)
        bu, hux = own.T @ force, _chained(pulled.T, scale, by_told)
        lean = inner @ hux
        matrix = _chained(_chained(system.gram, scale, by_told).T, scale, by_told) - hux.T @ lean
        self.square += float(system.square - (system.moment + force) @ offset - bu @ inner @ bu)
        self.log_determinant += system.log_determinant
        self.log_determinant += float(np.linalg.slogdet(huu)[1] + np.log(spread).sum())
        self.batch[batch] = _Eliminated(system, scale, by_told, own, offset, inner, lean, bu)
        return matrix, np.append(scale * force, by_told.T @ force) - lean.T @ bu

    def minimum(self) -> tuple[Floats, dict[str, Floats]]:
        theta = np.linalg.solve(self.matrix, self.vector).astype(np.float64)
        return theta, {
            b: p.inner @ p.pull - p.lean @ _known(self.parts[b], theta) for b, p in self.batch.items()
        }

    def posterior(self, rounds: int, bells: Summaries) -> Posterior:
        covariance = np.linalg.inv(self.matrix)
        covariance = (covariance + covariance.T) / 2
        theta, multipliers = self.minimum()
        local = _local_count(bells)
        batches: dict[str, BatchPosterior] = {}
        mean, second = np.zeros((len(bells.bell_ids), local)), np.zeros((len(bells.bell_ids), local))
        for batch, done in self.batch.items():
            part, u = self.parts[batch], multipliers[batch]
            x = _known(part, theta)
            among = _known(part, _known(part, covariance).T)
            chained = np.column_stack((np.diag(done.scale), done.by_told)) - done.own @ done.lean
            spread = chained @ among @ chained.T + done.own @ done.inner @ done.own.T
            k = done.scale * x[:-TOLD] + done.by_told @ x[-TOLD:] + done.own @ u + done.offset
            within = done.inner + done.lean @ among @ done.lean.T
            batches[batch] = BatchPosterior(u, within, k, spread)
            index = part.bells.index
            mean[index], second[index] = part.bells.moments(done.system, k, spread)
        square = self.square - self.vector @ theta
        log_prior = float(np.linalg.slogdet(self.precision)[1])
        log_posterior = float(np.linalg.slogdet(self.matrix)[1])
        evidence = -0.5 * (square + self.log_determinant + log_posterior - log_prior)
        return Posterior(theta, covariance, self.matrix, batches, mean, second, float(evidence), rounds)


def _chained(rows: Floats, scale: Floats, by_told: Floats) -> Floats:
    """Rows (n, shared) by coefficients as rows (n, shared + TOLD) by what they are made of, k = scale x + by_told t."""
    return np.column_stack((rows * scale, rows @ by_told))


def _known(part: _Part, values: Floats) -> Floats:
    """What a batch knows of from values (unknowns, ...): its shared coefficients, and what is told of it last."""
    return np.concatenate((values[part.places], part.rows @ values[part.met]))


def _local_count(summaries: Summaries) -> int:
    return summaries.columns.all - summaries.columns.shared + 2 + REMAINDERS


def local_jacobian(columns: Columns, k: Floats) -> Floats:
    """How a bell's own unknowns (seats, wall, v, remainder) act on the columns, (all, local)."""
    fields = len(FIELDS)
    nuisances = columns.all - columns.shared
    jacobian = np.zeros((columns.all, nuisances + 2 + REMAINDERS))
    jacobian[columns.shared + 1 :, : nuisances - 1] = np.eye(nuisances - 1)
    jacobian[columns.shared, nuisances - 1] = 1.0
    jacobian[:fields, nuisances] = k[:fields] * HOOP
    jacobian[:fields, nuisances + 1] = k[:fields] * ALONG
    jacobian[fields : fields + REMAINDERS, nuisances + 2 :] = np.eye(REMAINDERS)
    return jacobian
