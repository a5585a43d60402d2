"""All readings of one batch beside what was known before it: residuals, and their covariance as a thing to solve with.

    y = D k + D_local v_bell + D U e + noise,    V = N + F F',    N = diag(noise) + G L G' bell by bell,    F = D U

k and U are what was expected of the batch and not known of it, v a bell's own seat, wall, hands. Both parts are
eliminated by the identity of Woodbury, so that the cost is linear in readings.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from springfit.learning.basis.stress_fields import FIELDS
from springfit.learning.data.observations import Bell
from springfit.learning.regression.hierarchy import local_jacobian
from springfit.learning.regression.layout import BatchFacts
from springfit.learning.regression.summaries import REMAINDERS, Columns, Summaries
from springfit.watching.batches.known_before import KnownBefore

__all__ = ["BellRows", "Predictive", "predictive_of"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class BellRows:
    """One bell: residuals `rest` (n,) [mm] of its readings, their `noise` variance (n,) [mm^2], what its own unknowns
    do to them (`local`, n x m, one sd a column), the gap that was `expected` and how much of that is what earlier bells
    of this very steel showed beside springback (`of_steel`), (n,) [mm]."""

    bell: Bell
    rest: Floats
    noise: Floats
    local: Floats
    expected: Floats
    of_steel: Floats

    def solve(self, right: Floats) -> Floats:
        """The inverse of the bell's own covariance times `right` (n, m)."""
        scaled = self.local / self.noise[:, None]
        inner = np.eye(self.local.shape[1]) + self.local.T @ scaled
        plain = right / self.noise[:, None]
        return plain - scaled @ np.linalg.solve(inner, scaled.T @ right)

    def covariance(self) -> Floats:
        """The bell's own covariance (n, n) [mm^2]."""
        return np.diag(self.noise) + self.local @ self.local.T


@dataclass(frozen=True)
class Predictive:
    """A batch: its `bells`, the factor F (rows, m) of what was not known of it, `multiplier` (rows,) [mm] what a log
    multiplier of all its springback would do, and `known` beforehand."""

    batch_id: str
    bells: tuple[BellRows, ...]
    factor: Floats
    multiplier: Floats
    known: KnownBefore

    @cached_property
    def edges(self) -> NDArray[np.intp]:
        """Where the rows of each bell begin, and the end."""
        return np.concatenate(([0], np.cumsum([len(one.rest) for one in self.bells]))).astype(np.intp)

    @cached_property
    def rest(self) -> Floats:
        """Residuals of all bells, (rows,) [mm]."""
        return np.concatenate([one.rest for one in self.bells])

    @cached_property
    def of_steel(self) -> Floats:
        """What was known to be this very steel's own, (rows,) [mm]."""
        return np.concatenate([one.of_steel for one in self.bells])

    def rows(self, name: str) -> Floats:
        """A column of the readings of all bells, (rows,)."""
        return np.concatenate([getattr(one.bell, name) for one in self.bells])

    def part(self, index: int) -> slice:
        """Rows of one bell."""
        return slice(int(self.edges[index]), int(self.edges[index + 1]))

    def alone(self, right: Floats) -> Floats:
        """The same with nothing unknown of the batch, only of each bell: `right` (rows, m)."""
        return np.vstack([one.solve(right[self.part(i)]) for i, one in enumerate(self.bells)])

    @cached_property
    def _leaning(self) -> tuple[Floats, Floats]:
        turned = self.alone(self.factor)
        inner = np.linalg.inv(np.eye(self.factor.shape[1]) + self.factor.T @ turned)
        return turned, inner.astype(np.float64)

    def solve(self, right: Floats) -> Floats:
        """The inverse of the covariance of all readings times `right` (rows, m)."""
        turned, inner = self._leaning
        return np.asarray(self.alone(right) - turned @ (inner @ (turned.T @ right)))


def predictive_of(
    batch_id: str, bells: Sequence[Bell], known: KnownBefore, facts: BatchFacts, columns: Columns,
    noise_scale: Mapping[str, float],
) -> Predictive:  # fmt: skip
    """The readings of a batch's `bells` beside what was `known` before them."""
    k, own, unknown = known.of_batch(facts, columns)
    spreads, gap_columns = known.structure.spreads, len(FIELDS) + REMAINDERS
    remainder = slice(len(FIELDS), gap_columns)
    turn = local_jacobian(columns, k)
    sized = own[:, :2].sum(axis=1)
    rows, factors, multipliers = [], [], []
    for bell in bells:
        shared = bell.design[:, : columns.shared]
        scale = np.array([noise_scale.get(session.gauge_id, 1.0) for session in bell.sessions])[bell.session]
        variance = spreads.local_variance(Summaries.datums_of(bell))[0]
        rows.append(
            BellRows(
                bell, bell.gap - shared @ k, bell.variance * scale**2, bell.design @ turn * np.sqrt(variance),
                shared[:, :gap_columns] @ k[:gap_columns], shared[:, remainder] @ k[remainder],
            )
        )  # fmt: skip
        factors.append(shared @ unknown)
        multipliers.append(shared @ sized)
    return Predictive(batch_id, tuple(rows), np.vstack(factors), np.concatenate(multipliers), known)
