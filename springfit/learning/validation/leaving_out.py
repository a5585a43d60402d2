"""One fold of a validation: batches left out, forecast from the others as anybody would ask, beside what they measured.

What a batch measured is its mean gap over the flare as its own bells show it in the full fit, seats separated; a bell's
is that and how it departs from its batch. Where the flare stands along the axis is only as sure there as the seats are,
so place and shape are held apart. Spreads and noise stay those of the full fit, so leaving out is taking the terms of
the fold out of one sum.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.stress_fields import FIELDS
from springfit.learning.fit import Fit
from springfit.learning.forecasting.asked_steel import AskedSteel, asked_steel
from springfit.learning.forecasting.fitted_structure import FLARE_PART, FittedStructure, place_row
from springfit.learning.forecasting.gap_forecast import Bands, GapForecast
from springfit.learning.model import SpringModel, Words
from springfit.learning.regression.leaving import without
from springfit.learning.regression.link import ALONG, HOOP
from springfit.learning.regression.summaries import REMAINDERS
from springfit.learning.validation.plain_rules import BatchCurve
from springfit.records.conditions import Conditions

__all__ = ["LeftOut", "Measured", "forecast_fold", "measured_curve", "model_without", "steel_of"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Measured:
    """What the bells of a batch showed over the flare, n stations: the `curve` of their mean, its `place` along the
    axis with variance, the variance (n,) of its shape, and `bells` (bells, n) [mm] one by one."""

    curve: BatchCurve
    place: float
    place_variance: float
    shape_variance: Floats
    bells: Floats

    @property
    def shape(self) -> Floats:
        """The gap (n,) [mm] with the place taken out."""
        return self.curve.gap + self.place * np.sin(self.curve.slope)


@dataclass(frozen=True)
class LeftOut:
    """A batch of which nothing was learned, and what the `model` without it says: `words` before any weighing."""

    batch_id: str
    known: bool
    model: SpringModel
    mandrel: Meridian
    conditions: Conditions
    words: tuple[Words, ...]

    def stated(self, known: Bands, new: Bands) -> GapForecast:
        """The forecast of the model with these bands: `SpringModel.gap` of the same mandrel and conditions."""
        model = replace(self.model, known=known, new=new)
        return model.stated(self.mandrel, replace(self.conditions, back_passes=0), self.words)


def model_without(fit: Fit, fold: Collection[str]) -> SpringModel:
    """The model of a shop that never had the batches of `fold`: what they say is taken out of each structure, spreads
    and noise as they were. Something must be left."""
    sound = tuple(bell for bell in fit.experience.bells if bell.batch_id not in fold)
    rest = replace(fit.experience, bells=sound)
    layout = rest.layout()
    structures = tuple(
        FittedStructure(one.structure.name, one.spreads, *without(one, fit.summaries, fit.layout, layout))
        for one in fit.solved
    )
    return fit.model_of(rest, layout, structures)


def steel_of(fit: Fit, batch: str) -> AskedSteel:
    """The bell of a batch as its mandrel and conditions would be asked for."""
    made = fit.experience
    return asked_steel(made.meridian(batch), made.conditions[batch], made.hand, stage=made.measured_bases[batch].stage)


def forecast_fold(
    fit: Fit, fold: Collection[str], asked: Mapping[str, AskedSteel] | None = None
) -> tuple[LeftOut, ...]:
    """Batches `asked` of `fold` (None: all) forecast without the fold, as their mandrel and conditions would be asked
    for."""
    model = model_without(fit, fold)
    told, slim = [], replace(model, structures=())
    steels = {batch: steel_of(fit, batch) for batch in fold} if asked is None else asked
    for batch, steel in steels.items():
        bell = model.heard(steel)
        known = bell.words[0].facts.mandrel_id in model.layout.mandrels
        told.append(LeftOut(batch, known, slim, bell.mandrel, bell.conditions, bell.words))
    return tuple(told)


def measured_curve(fit: Fit, batch: str) -> Measured:
    """What the bells of a batch showed over the flare, seats separated, as the lead reads them; no surer than that
    reading is, and than the other structures agree with it on the same bells."""
    columns, points, hoop = fit.flare_columns(batch, FLARE_PART)
    facts, used = fit.layout.facts[batch], columns.shape[1]
    readings = np.array([columns @ one.posterior.batches[batch].coefficients[:used] for one in fit.solved])
    gap = readings[0]
    apart = (readings[1:] - gap) / np.sqrt(len(readings))
    spread = fit.lead.posterior.batches[batch].spread[:used, :used]
    covariance = columns @ spread @ columns.T + apart.T @ apart
    sine = np.sin(points.slope)
    row = place_row(sine)
    bare = np.eye(len(row)) + np.outer(sine, row)
    curve = BatchCurve(
        batch, facts.mandrel_id, fit.experience.spun_on[batch], points.s, points.slope, points.r, gap,
        np.sqrt(np.diag(covariance)), hoop, facts.features,
    )  # fmt: skip
    shape_variance = np.einsum("ij,jk,ik->i", bare, covariance, bare)
    return Measured(curve, float(row @ gap), float(row @ covariance @ row), shape_variance, _bell_gaps(fit, batch))


def _bell_gaps(fit: Fit, batch: str) -> Floats:
    """Gap over the flare (bells, n) [mm] of each bell of a batch, as far as its own readings tell it apart."""
    columns, _, _ = fit.flare_columns(batch, FLARE_PART)
    posterior = fit.lead.posterior
    k = posterior.batches[batch].coefficients[: columns.shape[1]]
    own = posterior.bell_mean[[b == batch for b in fit.summaries.batch_ids]]
    rest = own[:, -REMAINDERS:]
    hoop, along = own[:, -REMAINDERS - 2, None], own[:, -REMAINDERS - 1, None]
    fields = k[: len(FIELDS)] * (1.0 + hoop * HOOP + along * ALONG)
    return np.hstack((fields, k[len(FIELDS) :] + rest)) @ columns.T
