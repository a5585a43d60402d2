"""Left-out batches and left-out mandrels: how well bells are forecast that nothing was learned from.

Whole batches and whole mandrels are left out, never rows: bells of one batch share their anneal and their hands, and
rows of one bell are one bell. What is scored is what is asked: each left-out batch is forecast through the one function
that every command asks, and from the same forecasts the structures get their weights and their bands.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from joblib import Parallel, delayed
from numpy.typing import NDArray

from springfit.learning.fit import Fit
from springfit.learning.forecasting.asked_steel import AskedSteel
from springfit.learning.forecasting.gap_forecast import Bands
from springfit.learning.training_frame import thinned
from springfit.learning.validation.leaving_out import (
    LeftOut,
    Measured,
    forecast_fold,
    measured_curve,
    steel_of,
)
from springfit.learning.validation.plain_rules import BASELINES, PlainRules
from springfit.learning.validation.prediction_score import OURS, PredictionScore, score_against
from springfit.learning.validation.stacking import LeftOutErrors, weighings

__all__ = ["Score", "Validation", "validate"]

Floats = NDArray[np.float64]

# Batches forecast, one by one and with their mandrels; of more, so many evenly among them; of 40 the share in a 90 %
# band is known to 5 %
MOST_ASKED = 40


@dataclass(frozen=True)
class Score:
    """How one method forecast what was left out: rms and worst error [mm], the rms of shape (the best slide taken out)
    and of place (that slide); for bands, share of the flare covered by the 90 % band of the batch's mean and of its
    bells' by that of one bell, their mean widths [mm], and the mean log density of what was measured; else nan."""

    method: str
    rms_mm: float
    worst_mm: float
    shape_rms_mm: float
    place_rms_mm: float
    cover: float = float("nan")
    width_mm: float = float("nan")
    cover_bell: float = float("nan")
    width_bell_mm: float = float("nan")
    log_score: float = float("nan")


@dataclass(frozen=True)
class Validation:
    """Scores of all methods on left-out batches and left-out mandrels, the first of each being ours, and what they
    taught of the structures on `known` mandrels and on `new` ones, whose names are in order."""

    batches: tuple[Score, ...]
    mandrels: tuple[Score, ...]
    structures: tuple[str, ...]
    known: Bands
    new: Bands
    left_out: int

    def as_dict(self) -> dict[str, dict[str, float]]:
        """Our own figures and every method's rms, for the stored model."""
        told = {}
        for name, scores in (("left_out_batches", self.batches), ("left_out_mandrels", self.mandrels)):
            if scores:
                ours = scores[0]
                told[name] = {
                    "rms_mm": ours.rms_mm, "worst_mm": ours.worst_mm, "shape_rms_mm": ours.shape_rms_mm,
                    "place_rms_mm": ours.place_rms_mm, "cover": ours.cover, "width_mm": ours.width_mm,
                    "cover_bell": ours.cover_bell, "width_bell_mm": ours.width_bell_mm, "log_score": ours.log_score,
                    **{f"rms_mm {s.method}": s.rms_mm for s in scores[1:]},
                }  # fmt: skip
        return told


def validate(fit: Fit, *, progress: Callable[[str], None] = lambda _: None) -> Validation:
    """Leave out every batch, then every mandrel, and forecast them. Empty scores where too little is left to learn.

    Weights and bands are set on the forecasts that are then scored, what was measured is read by the structure that
    leads, and the shop's hand was found from batches that are left out here: all flatter ours a little, coverage most.
    """
    measured = {batch: measured_curve(fit, batch) for batch in fit.layout.facts}
    batches = list(measured)[:: max(1, -(-len(measured) // MOST_ASKED))]
    by_mandrel: dict[str, list[str]] = {}
    for batch, one in measured.items():
        by_mandrel.setdefault(one.curve.mandrel_id, []).append(batch)
    of_mandrels = _some(list(by_mandrel.values()))
    steels = _steels(fit, {*batches, *(batch for some in of_mandrels for batch in some)})
    progress(f"forecasting {len(batches)} left-out batches")
    singly = _forecast(fit, [([batch], [batch]) for batch in batches], steels) if len(measured) > 2 else []
    progress(f"forecasting {len(by_mandrel)} left-out mandrels")
    pairs = list(zip(by_mandrel.values(), of_mandrels, strict=True))
    whole = _forecast(fit, pairs, steels) if len(by_mandrel) > 1 else []
    told = [one for fold in (*singly, *whole) for one in fold]
    equal = Bands.equal(len(fit.solved))
    known = _bands([one for one in told if one.known], measured) or equal
    new = _bands([one for one in told if not one.known], measured) or known
    names = tuple(one.structure.name for one in fit.solved)
    progress("forecasting the same by plain rules")
    scored = [_scores(folds, measured, known, new) for folds in (singly, whole)]
    return Validation(scored[0], scored[1], names, known, new, len(batches))


def _some(folds: Sequence[list[str]]) -> list[list[str]]:
    """Of each fold the batches that are forecast, evenly among them."""
    most = max(1, MOST_ASKED // len(folds))
    return [[fold[place] for place in thinned(len(fold), most)] for fold in folds]


def _steels(fit: Fit, batches: Collection[str]) -> dict[str, AskedSteel]:
    """What physics says of each, once for all folds that leave it out."""
    done = Parallel(n_jobs=-1, prefer="threads")(delayed(steel_of)(fit, batch) for batch in batches)
    return dict(zip(batches, done, strict=True))


def _forecast(
    fit: Fit, folds: Sequence[tuple[list[str], list[str]]], steels: Mapping[str, AskedSteel]
) -> list[tuple[LeftOut, ...]]:
    """Of each fold the batches asked for, by what the others teach."""
    # Threads share the one fit; the work in them is linear algebra, which lets the others run.
    return Parallel(n_jobs=-1, prefer="threads")(
        delayed(forecast_fold)(fit, fold, {batch: steels[batch] for batch in asked}) for fold, asked in folds
    )


def _bands(told: Sequence[LeftOut], measured: Mapping[str, Measured]) -> Bands | None:
    """What the left-out batches teach of the structures; None where there are none."""
    if not told:
        return None
    shapes, places = [], []
    for one in told:
        shown, words = measured[one.batch_id], one.words[len(one.words) // 2]
        at = shown.curve.arc
        shape = np.array([np.interp(at, words.arc, each.shape) for each in words.told])
        variance = np.array([np.interp(at, words.arc, each.shape_variance) for each in words.told])
        shapes.append((shape - shown.shape, variance, shown.shape_variance))
        place = np.array([[each.place] for each in words.told])
        of_place = np.array([[each.place_variance] for each in words.told])
        places.append((place - shown.place, of_place, np.array([shown.place_variance])))
    # Places are read through the same seats that forecasts were learned from: no band closes on that account.
    return Bands(*weighings(LeftOutErrors(shapes), LeftOutErrors(places, narrowest=1.0)))


def _scores(
    folds: Sequence[tuple[LeftOut, ...]], measured: Mapping[str, Measured], known: Bands, new: Bands
) -> tuple[Score, ...]:
    """Scores of every method over left-out batches; those of one fold know nothing of one another."""
    each = Parallel(n_jobs=-1, prefer="threads")(delayed(_scored)(fold, measured, known, new) for fold in folds)
    scored = [one for fold in each for one in fold]
    if not scored:
        return ()
    scores = [Score(name, **_size(name, scored)) for name in (OURS, *BASELINES)]
    return (Score(**{**vars(scores[0]), **_of_bands(scored)}), *scores[1:])


def _scored(
    fold: tuple[LeftOut, ...], measured: Mapping[str, Measured], known: Bands, new: Bands
) -> list[PredictionScore]:
    """The forecasts of one fold scored against what was measured, beside plain rules that know the other batches."""
    there = fold[0].model.layout.facts
    rules = PlainRules.learned({batch: shown.curve for batch, shown in measured.items() if batch in there})
    return [score_against(one.stated(known, new), measured[one.batch_id], rules) for one in fold]


def _of_bands(scored: Sequence[PredictionScore]) -> dict[str, float]:
    names = ("cover", "width_mm", "cover_bell", "width_bell_mm", "log_score")
    return {name: float(np.mean([getattr(one, name) for one in scored])) for name in names}


def _size(method: str, scored: Sequence[PredictionScore]) -> dict[str, float]:
    """Root mean squares over batches of each one's mean square, and the largest error of all [mm]."""
    errors = [one.errors[method] for one in scored]
    return {
        "rms_mm": _rms(np.mean(error**2) for error in errors),
        "worst_mm": float(max(np.max(np.abs(error)) for error in errors)),
        "shape_rms_mm": _rms(np.mean(one.shape_error(method) ** 2) for one in scored),
        "place_rms_mm": _rms(one.place_error(method) ** 2 for one in scored),
    }


def _rms(squares: Iterable[float | np.floating]) -> float:
    return float(np.sqrt(np.mean(list(squares))))
