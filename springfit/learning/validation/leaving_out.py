"""One fold of a validation: batches left out, forecast from the others, and held against what their bells showed.

What a batch measured is its mean gap over the flare as its own bells show it in the full fit, seats separated; a bell's
is that and how it departs from its batch. Spreads and noise stay those of the full fit, so leaving out is one solve.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from springfit.learning.basis.stress_basis import FIELDS
from springfit.learning.model import freedom_of
from springfit.learning.regression.hierarchy import solve
from springfit.learning.regression.layout import ALONG, HOOP
from springfit.learning.regression.prior_sd import Prior
from springfit.learning.regression.summaries import REMAINDERS
from springfit.learning.validation.plain_rules import BASELINES, BatchCurve, baseline_forecast

if TYPE_CHECKING:
    from springfit.learning.fitting import Fit

__all__ = ["OURS", "Held", "held_against", "left_out", "measured_curve"]

Floats = NDArray[np.float64]

OURS = "springfit"
FLARE_PART = 0.6  # of the arc: the flare is what lies beyond


@dataclass(frozen=True)
class Held:
    """One left-out batch: errors (n,) [mm] by method; share of its flare inside the 90 % band of the batch's mean, and
    of its bells' inside that of one bell, with their widths [mm]; the mean log density of what was measured, and the
    mean square of the standardised error."""

    errors: Mapping[str, Floats]
    cover: float
    width: float
    cover_bell: float
    width_bell: float
    log_score: float
    square: float


def left_out(fit: Fit, fold: Collection[str]) -> Fit:
    """The fit without the batches of `fold`: one solve, spreads and noise as they were. Something must be left."""
    sound = tuple(bell for bell in fit.experience.bells if bell.batch_id not in fold)
    rest = replace(fit.experience, bells=sound)
    layout = rest.layout()
    prior = Prior.of(layout)
    begin = replace(fit.posterior.start(), mean=fit.layout.carried(fit.posterior.mean, layout))
    posterior = solve(fit.summaries, layout, prior, fit.spreads, begin)  # of the layout's batches only
    return replace(fit, experience=rest, layout=layout, prior=prior, posterior=posterior)


def held_against(fit: Fit, curves: Mapping[str, BatchCurve], fold: Collection[str]) -> tuple[Held, ...]:
    """Every batch of `fold` forecast without the fold, held against its curve; `curves` of all batches, by id."""
    known = {batch: curve for batch, curve in curves.items() if batch not in fold}
    told = _forecast_left_out(fit, list(fold))
    return tuple(_held(fit, curves[batch], known, *told[batch]) for batch in fold)


def _held(
    fit: Fit, asked: BatchCurve, known: Mapping[str, BatchCurve], gap: Floats, sd: Floats, bell_sd: Floats
) -> Held:
    error, spread = gap - asked.gap, np.hypot(sd, asked.gap_sd)
    freedom = freedom_of(len(known))
    half = float(student.ppf(0.95, freedom))
    bells, bell_spread = _bell_gaps(fit, asked.batch_id), np.hypot(bell_sd, asked.gap_sd)
    plain = {name: baseline_forecast(name, asked, known) - asked.gap for name in BASELINES}
    return Held(
        errors={OURS: error, **plain},
        cover=float(np.mean(np.abs(error) <= half * spread)),
        width=float(np.mean(2 * half * sd)),
        cover_bell=float(np.mean(np.abs(gap - bells) <= half * bell_spread)),
        width_bell=float(np.mean(2 * half * bell_sd)),
        log_score=float(np.mean(student.logpdf(error / spread, freedom) - np.log(spread))),
        square=float(np.mean((error / spread) ** 2)),
    )


def _bell_gaps(fit: Fit, batch: str) -> Floats:
    """Gap over the flare (bells, n) [mm] of each bell of a batch, as far as its own readings tell it apart."""
    columns, _, _ = fit.flare_columns(batch, FLARE_PART)
    k = fit.posterior.batches[batch].coefficients[: columns.shape[1]]
    own = fit.posterior.bell_mean[[b == batch for b in fit.summaries.batch_ids]]
    rest = own[:, -REMAINDERS:]
    hoop, along = own[:, -REMAINDERS - 2, None], own[:, -REMAINDERS - 1, None]
    fields = k[: len(FIELDS)] * (1.0 + hoop * HOOP + along * ALONG)
    return np.hstack((fields, k[len(FIELDS) :] + rest)) @ columns.T


def _forecast_left_out(fit: Fit, fold: list[str]) -> dict[str, tuple[Floats, Floats, Floats]]:
    """Gap over the flare, its sd for a new batch's mean and for one bell, of each batch of the fold."""
    rest = left_out(fit, fold)
    layout, posterior = rest.layout, rest.posterior
    told = {}
    for batch in fold:
        columns, _, _ = fit.flare_columns(batch, FLARE_PART)
        facts, used = fit.layout.facts[batch], columns.shape[1]
        k, turn, own = layout.linearised_at(facts, posterior.mean, np.zeros(2))
        shop, alone = columns @ turn[:used], columns @ own[:used]
        variance = np.einsum("ij,jk,ik->i", shop, posterior.covariance, shop)
        variance += alone**2 @ fit.spreads.new_batch_variance(layout, facts.features, posterior.mean)
        variance += alone.sum(axis=1) ** 2 * fit.spreads.unmet_label_variance(layout, facts)
        if facts.mandrel_id not in layout.mandrels:
            variance += fit.spreads["mandrels"] ** 2 * (columns[:, len(FIELDS) :] ** 2).sum(axis=1)
        bell = alone**2 @ np.array([fit.spreads["bell_hoop"], fit.spreads["bell_along"]]) ** 2
        bell += fit.spreads["bell_remainder"] ** 2 * (columns[:, len(FIELDS) :] ** 2).sum(axis=1)
        told[batch] = (columns @ k[:used], np.sqrt(variance), np.sqrt(variance + bell))
    return told


def measured_curve(fit: Fit, batch: str) -> BatchCurve:
    """What the bells of a batch showed over the flare, seats separated."""
    columns, points, hoop = fit.flare_columns(batch, FLARE_PART)
    facts, posterior = fit.layout.facts[batch], fit.posterior.batches[batch]
    used = columns.shape[1]
    spread = posterior.spread[:used, :used]
    return BatchCurve(
        batch, facts.mandrel_id, fit.experience.spun_on[batch], points.s, points.slope, points.r,
        columns @ posterior.coefficients[:used],
        np.sqrt(np.einsum("ij,jk,ik->i", columns, spread, columns)), hoop, facts.features,
    )  # fmt: skip
