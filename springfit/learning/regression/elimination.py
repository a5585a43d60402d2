"""Bells without their own unknowns: what those of a batch say of its coefficients, and then what is known of each bell.

A bell's own unknowns are of two kinds. Seats, wall and remainder act on its readings the same way whatever the batch's
coefficients are: given the spreads they are eliminated once. The multipliers v act through the coefficients k of the
last linearisation and are eliminated anew in each, two unknowns a bell. One after the other gives the same as both at
once (Schur complements; Gelman et al., Bayesian Data Analysis, 3rd ed., ch. 14).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.learning.basis.stress_fields import FIELDS
from springfit.learning.regression.link import ALONG, HOOP
from springfit.learning.regression.prior_sd import Spreads
from springfit.learning.regression.summaries import REMAINDERS, Columns, Summaries

__all__ = ["BatchSystem", "BellsOfBatch", "bells_of_batch"]

Floats = NDArray[np.float64]

_COUNT = len(FIELDS)


@dataclass(frozen=True)
class BatchSystem:
    """Normal equations of a batch's shared coefficients at one linearisation: `gram` (shared, shared), `moment`
    (shared,), what is left of the `square`, the log determinant of all that was eliminated; and of its bells'
    multipliers given the coefficients: v = `first` (bells, 2) - `weight` (bells, 2, shared) k, covariance `inner`."""

    by: Floats
    gram: Floats
    moment: Floats
    square: float
    log_determinant: float
    weight: Floats
    first: Floats
    inner: Floats


@dataclass(frozen=True)
class BellsOfBatch:
    """The bells of a batch, numbered `index` in the summaries, without seats, wall and remainder.

    Sums over them: `gram` (shared, shared), `moment` (shared,), `square`, `log_determinant`. Of each: rows of the
    fields in its Gram matrix before, `whole` (bells, fields, shared), off which `cross` (bells, 21, fields) times
    `weight` was taken, moments `force` (bells, shared). Eliminated was `first` (bells, 21) - `weight` (bells, 21,
    shared) c with variances `spread` (bells, 21), c the bell's coefficients.
    """

    index: NDArray[np.intp]
    gram: Floats
    moment: Floats
    square: float
    log_determinant: float
    whole: Floats
    cross: Floats
    force: Floats
    weight: Floats
    first: Floats
    spread: Floats
    multiplier_variance: Floats

    def at(self, k: Floats) -> BatchSystem:
        """The batch's system when its bells' multipliers act on coefficients k (shared,)."""
        by = np.column_stack((k[:_COUNT] * HOOP, k[:_COUNT] * ALONG))
        cross = by.T @ self.whole - (self.cross @ by).transpose(0, 2, 1) @ self.weight
        block = cross[:, :, :_COUNT] @ by + np.diag(1.0 / self.multiplier_variance)
        determinant = block[:, 0, 0] * block[:, 1, 1] - block[:, 0, 1] * block[:, 1, 0]
        force = self.force[:, :_COUNT] @ by
        inner = _adjugate(block) / determinant[:, None, None]
        weight, first = inner @ cross, (inner @ force[:, :, None])[:, :, 0]
        shared = len(self.moment)
        return BatchSystem(
            by=by,
            gram=self.gram - cross.reshape(-1, shared).T @ weight.reshape(-1, shared),
            moment=self.moment - cross.reshape(-1, shared).T @ first.ravel(),
            square=self.square - float(np.sum(force * first)),
            log_determinant=self.log_determinant
            + float(np.log(determinant).sum() + len(block) * np.log(self.multiplier_variance).sum()),
            weight=weight, first=first, inner=inner,
        )  # fmt: skip

    def moments(self, system: BatchSystem, k: Floats, spread: Floats) -> tuple[Floats, Floats]:
        """Posterior means (bells, local) of the bells' own unknowns and means of their squares, where the coefficients
        are k (shared,) with covariance `spread` (shared, shared)."""
        v = system.first - system.weight @ k
        v_square = (
            v**2 + np.einsum("bii->bi", system.inner) + np.sum((system.weight @ spread) * system.weight, 2)
        )
        through = self.weight[:, :, :_COUNT] @ system.by
        lean = self.weight - through @ system.weight
        rest = self.first - self.weight @ k - (through @ v[:, :, None])[:, :, 0]
        own = self.spread + np.sum((through @ system.inner) * through, axis=2)
        square = rest**2 + own + np.sum((lean @ spread) * lean, axis=2)
        return _ordered(rest, v), _ordered(square, v_square)


def bells_of_batch(summaries: Summaries, index: NDArray[np.intp], spreads: Spreads) -> BellsOfBatch:
    """The bells numbered `index`, their seats, wall and remainder eliminated at these spreads."""
    columns, shared = summaries.columns, summaries.columns.shared
    # Bells of a batch stand together in most books: then their Gram matrices are looked at and not copied.
    together = len(index) and index[-1] - index[0] == len(index) - 1
    some = slice(int(index[0]), int(index[-1]) + 1) if together else index
    gram, moment = summaries.gram[some], summaries.moment[some]
    variance = spreads.local_variance(summaries.datum[index])
    seats = columns.all - shared
    own, multipliers = np.delete(variance, (seats, seats + 1), axis=1), variance[:1, seats : seats + 2]
    places = _places(columns)
    across = gram[:, places]
    block = across[:, :, places]
    diagonal = np.arange(len(places))
    block[:, diagonal, diagonal] += 1.0 / own
    cross, pull = across[:, :, :shared], moment[:, places]
    inner = np.linalg.inv(block)
    weight, first = inner @ cross, (inner @ pull[:, :, None])[:, :, 0]
    force = moment[:, :shared] - (pull[:, None, :] @ weight)[:, 0]
    return BellsOfBatch(
        index=index,
        gram=gram[:, :shared, :shared].sum(0) - cross.reshape(-1, shared).T @ weight.reshape(-1, shared),
        moment=force.sum(0),
        square=float(summaries.square[index].sum() - np.sum(pull * first)),
        log_determinant=float(np.linalg.slogdet(block)[1].sum() + np.log(own).sum()),
        whole=gram[:, :_COUNT, :shared], cross=cross[:, :, :_COUNT].copy(), force=force,
        weight=weight, first=first, spread=np.einsum("bii->bi", inner),
        multiplier_variance=multipliers[0] if len(index) else np.ones(2),
    )  # fmt: skip


def _adjugate(block: Floats) -> Floats:
    """The adjugates of matrices of two rows, (n, 2, 2): times the inverse of the determinant, their inverses."""
    return np.stack((block[:, 1, 1], -block[:, 0, 1], -block[:, 1, 0], block[:, 0, 0]), axis=1).reshape(-1, 2, 2)


def _places(columns: Columns) -> NDArray[np.intp]:
    """Columns of seats, wall and remainder, in the order of a bell's own unknowns."""
    seats = np.arange(columns.shared + 1, columns.all)
    return np.concatenate((seats, [columns.shared], np.arange(_COUNT, _COUNT + REMAINDERS)))


def _ordered(rest: Floats, v: Floats) -> Floats:
    """Seats, wall, v, remainder: the order of a bell's own unknowns."""
    return np.concatenate((rest[:, :-REMAINDERS], v, rest[:, -REMAINDERS:]), axis=1)
