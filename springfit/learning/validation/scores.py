"""Left-out batches and left-out mandrels: how well bells are forecast that nothing was learned from.

Whole batches and whole mandrels are left out, never rows: bells of one batch share their anneal and their hands, and
rows of one bell are one bell. Every method is trained and judged on what the batches measured (`leaving_out`). The
axial place of a whole batch is only as sure there as its seats are, which `gap_sd` carries.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from joblib import Parallel, delayed
from numpy.typing import NDArray

from springfit.learning.validation.leaving_out import OURS, Held, held_against, measured_curve
from springfit.learning.validation.plain_rules import BASELINES, BatchCurve

if TYPE_CHECKING:
    from springfit.learning.fitting import Fit

__all__ = ["Score", "Validation", "validate"]

Floats = NDArray[np.float64]

PSEUDO = 6.0  # batches of good behaviour that a band is credited with beforehand
MOST_FOLDS = 40  # of batches; with more of them, every so many-th is left out


@dataclass(frozen=True)
class Score:
    """How one method forecast what was left out: rms and worst error [mm]; for bands, share of the flare covered by the
    90 % band of the batch's mean and of its bells' by that of one bell, their mean widths [mm], and the mean log
    density of what was measured; else nan."""

    method: str
    rms_mm: float
    worst_mm: float
    cover: float = float("nan")
    width_mm: float = float("nan")
    cover_bell: float = float("nan")
    width_bell_mm: float = float("nan")
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
                    "cover_bell": ours.cover_bell, "width_bell_mm": ours.width_bell_mm, "log_score": ours.log_score,
                    **{f"rms_mm {s.method}": s.rms_mm for s in scores[1:]},
                }  # fmt: skip
        told["bands"] = {"spread_batches": self.spread_batches, "spread_mandrels": self.spread_mandrels}
        return told


def validate(fit: Fit, *, progress: Callable[[str], None] = lambda _: None) -> Validation:
    """Leave out every batch, then every mandrel, and forecast them. Empty scores where too little is left to learn."""
    curves = {batch: measured_curve(fit, batch) for batch in fit.layout.facts}
    batches = list(curves)[:: max(1, len(curves) // MOST_FOLDS)]
    by_mandrel: dict[str, list[str]] = {}
    for batch, curve in curves.items():
        by_mandrel.setdefault(curve.mandrel_id, []).append(batch)
    progress(f"forecasting {len(batches)} left-out batches")
    singly = _scores(fit, curves, [[batch] for batch in batches]) if len(curves) > 2 else ((), 1.0)
    progress(f"forecasting {len(by_mandrel)} left-out mandrels")
    whole = _scores(fit, curves, list(by_mandrel.values())) if len(by_mandrel) > 1 else ((), 1.0)
    return Validation(singly[0], whole[0], singly[1], whole[1], len(batches))


def _scores(
    fit: Fit, curves: Mapping[str, BatchCurve], folds: Sequence[list[str]]
) -> tuple[tuple[Score, ...], float]:
    """Scores of every method over all folds, and how far apart our standardised errors lie."""
    # Threads share the one fit; the work in them is linear algebra, which lets the others run.
    each = Parallel(n_jobs=-1, prefer="threads")(delayed(held_against)(fit, curves, fold) for fold in folds)
    held = [one for fold in each for one in fold]
    scores = [Score(name, *_size([one.errors[name] for one in held])) for name in (OURS, *BASELINES)]
    return (_with_bands(scores[0], held), *scores[1:]), _spread(held)


def _with_bands(score: Score, held: Sequence[Held]) -> Score:
    return replace(
        score,
        cover=float(np.mean([one.cover for one in held])),
        width_mm=float(np.mean([one.width for one in held])),
        cover_bell=float(np.mean([one.cover_bell for one in held])),
        width_bell_mm=float(np.mean([one.width_bell for one in held])),
        log_score=float(np.mean([one.log_score for one in held])),
    )


def _spread(held: Sequence[Held]) -> float:
    return float(np.sqrt((PSEUDO + sum(one.square for one in held)) / (PSEUDO + len(held))))


def _size(errors: list[Floats]) -> tuple[float, float]:
    """Root mean square over batches of each one's mean square, and the largest error of all [mm]."""
    rms = float(np.sqrt(np.mean([np.mean(error**2) for error in errors])))
    return rms, float(max(np.max(np.abs(error)) for error in errors))
