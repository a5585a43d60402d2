"""Left-out batches and left-out mandrels: how well bells are forecast that nothing was learned from.

Whole batches and whole mandrels are left out, never rows: bells of one batch share their anneal and their hands, and
rows of one bell are one bell. What a batch measured is its mean gap over the flare as its own bells show it in the
full fit, seats separated; every method is trained and judged on those curves. The axial place of a whole batch is
only as sure there as its seats are, which `gap_sd` carries. Spreads and noise stay those of the full fit, so a refit
is one solve.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from springfit.learning.baselines import BASELINES, BatchCurve, baseline_forecast
from springfit.learning.hierarchy import solve
from springfit.learning.model import freedom_of
from springfit.learning.spreads import Prior
from springfit.learning.stress_basis import FIELDS

if TYPE_CHECKING:
    from springfit.learning.fitting import Fit

__all__ = ["Score", "Validation", "left_out", "validate"]

Floats = NDArray[np.float64]

OURS = "springfit"
FLARE_PART = 0.6  # of the arc: the flare is what lies beyond
PSEUDO = 6.0  # batches of good behaviour that a band is credited with beforehand
MOST_FOLDS = 40  # of batches; with more of them, every so many-th is left out


@dataclass(frozen=True)
class Score:
    """How one method forecast what was left out: rms and worst error [mm]; for bands, share of the flare covered by the
    90 % band of the batch's mean, its mean width [mm], and the mean log density of what was measured; else nan."""

    method: str
    rms_mm: float
    worst_mm: float
    cover: float = float("nan")
    width_mm: float = float("nan")
    log_score: float = float("nan")


@dataclass(frozen=True)
class Validation:
    """Scores of all methods on left-out batches and left-out mandrels, the first of each being ours; how far apart our
    standardised errors lie (`spread_*`, 1 when the bands are right)."""

    batches: tuple[Score, ...]
    mandrels: tuple[Score, ...]
    spread_batches: float
    spread_mandrels: float
    left_out: int

    def as_dict(self) -> dict[str, dict[str, float]]:
        """Our own figures and every method's rms, for the stored model."""
        told = {}
        for name, scores in (("left_out_batches", self.batches), ("left_out_mandrels", self.mandrels)):
            if scores:
                ours = scores[0]
                told[name] = {
                    "rms_mm": ours.rms_mm, "worst_mm": ours.worst_mm, "cover": ours.cover, "width_mm": ours.width_mm,
                    "log_score": ours.log_score, **{f"rms_mm {s.method}": s.rms_mm for s in scores[1:]},
                }  # fmt: skip
        told["bands"] = {"spread_batches": self.spread_batches, "spread_mandrels": self.spread_mandrels}
        return told

    def text(self) -> str:
        """The two tables side by side, for the terminal."""
        if not self.batches:
            return "too few batches to leave any out: how well a new one is forecast is not known yet"
        head = f"{'left out:':20s}{'batches':>18s}{'mandrels':>18s}   (mm over the flare: rms, worst)"
        lines = [head]
        for index, score in enumerate(self.batches):
            other = self.mandrels[index] if self.mandrels else None
            right = f"{other.rms_mm:10.3f}{other.worst_mm:8.3f}" if other else f"{'-':>18s}"
            lines.append(f"{score.method:20s}{score.rms_mm:10.3f}{score.worst_mm:8.3f}{right}")
        if self.batches:
            ours = self.batches[0]
            lines.append(
                f"90 % bands cover {ours.cover:.0%} of the left-out batches' flare, {ours.width_mm:.3f} mm wide"
            )
        return "\n".join(lines)


def validate(fit: Fit, *, progress: Callable[[str], None] = lambda _: None) -> Validation:
    """Leave out every batch, then every mandrel, and forecast them. Empty scores where too little is left to learn."""
    curves = {batch: _curve(fit, batch) for batch in fit.layout.facts}
    batches = list(curves)[:: max(1, len(curves) // MOST_FOLDS)]
    by_mandrel: dict[str, list[str]] = {}
    for batch, curve in curves.items():
        by_mandrel.setdefault(curve.mandrel_id, []).append(batch)
    progress(f"forecasting {len(batches)} left-out batches")
    singly = _scores(fit, curves, [[batch] for batch in batches]) if len(curves) > 2 else ((), 1.0)
    progress(f"forecasting {len(by_mandrel)} left-out mandrels")
    whole = _scores(fit, curves, list(by_mandrel.values())) if len(by_mandrel) > 1 else ((), 1.0)
    return Validation(singly[0], whole[0], singly[1], whole[1], len(batches))


def left_out(fit: Fit, fold: Collection[str]) -> Fit:
    """The fit without the batches of `fold`: one solve, spreads and noise as they were. Something must be left."""
    sound = tuple(bell for bell in fit.experience.bells if bell.batch_id not in fold)
    rest = replace(fit.experience, bells=sound)
    layout = rest.layout()
    prior = Prior.of(layout)
    begin = replace(fit.posterior.start(), mean=fit.layout.carried(fit.posterior.mean, layout))
    posterior = solve(fit.summaries, layout, prior, fit.spreads, begin)  # of the layout's batches only
    return replace(fit, experience=rest, layout=layout, prior=prior, posterior=posterior)


def _scores(
    fit: Fit, curves: dict[str, BatchCurve], folds: Iterable[list[str]]
) -> tuple[tuple[Score, ...], float]:
    errors: dict[str, list[Floats]] = {name: [] for name in (OURS, *BASELINES)}
    covered, widths, logs, squares = [], [], [], []
    for fold in folds:
        known = {batch: curve for batch, curve in curves.items() if batch not in fold}
        if not known:
            continue
        told = _forecast_left_out(fit, fold)
        for batch in fold:
            asked, (gap, sd) = curves[batch], told[batch]
            error, spread = gap - asked.gap, np.hypot(sd, asked.gap_sd)
            freedom = freedom_of(len(known))
            half = float(student.ppf(0.95, freedom))
            covered.append(np.mean(np.abs(error) <= half * spread))
            widths.append(np.mean(2 * half * sd))
            logs.append(np.mean(student.logpdf(error / spread, freedom) - np.log(spread)))
            squares.append(np.mean((error / spread) ** 2))
            errors[OURS].append(error)
            for name in BASELINES:
                errors[name].append(baseline_forecast(name, asked, known) - asked.gap)
    scores = [Score(name, *_size(all_of_it)) for name, all_of_it in errors.items()]
    scores[0] = replace(
        scores[0],
        cover=float(np.mean(covered)),
        width_mm=float(np.mean(widths)),
        log_score=float(np.mean(logs)),
    )
    return tuple(scores), float(np.sqrt((PSEUDO + np.sum(squares)) / (PSEUDO + len(squares))))


def _size(errors: list[Floats]) -> tuple[float, float]:
    """Root mean square over batches of each one's mean square, and the largest error of all [mm]."""
    rms = float(np.sqrt(np.mean([np.mean(error**2) for error in errors])))
    return rms, float(max(np.max(np.abs(error)) for error in errors))


def _forecast_left_out(fit: Fit, fold: list[str]) -> dict[str, tuple[Floats, Floats]]:
    """Gap and sd of a new batch's mean over the flare, of each batch of the fold, learned without the fold."""
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
        told[batch] = (columns @ k[:used], np.sqrt(variance))
    return told


def _curve(fit: Fit, batch: str) -> BatchCurve:
    columns, points, hoop = fit.flare_columns(batch, FLARE_PART)
    facts, posterior = fit.layout.facts[batch], fit.posterior.batches[batch]
    used = columns.shape[1]
    spread = posterior.spread[:used, :used]
    return BatchCurve(
        batch, facts.mandrel_id, fit.experience.spun_on[batch], points.s, points.slope, points.r,
        columns @ posterior.coefficients[:used],
        np.sqrt(np.einsum("ij,jk,ik->i", columns, spread, columns)), hoop, facts.features,
    )  # fmt: skip
