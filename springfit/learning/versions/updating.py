"""New batches added to a model that keeps no readings: its posterior is the sufficient statistic of all it learned.

Given the shop's unknowns batches are independent, so the posterior of the old batches is the prior of the new ones:

    precision = P(spreads) + L,   L = S^-1 - P(spreads before),      S the posterior covariance before,

and the same for precision times mean. L is what the records said, P what was held beforehand, which grows with every
new label, mandrel and gauge and follows the spreads. These move by the running squares of all bells and batches, the
old ones' as they were left: incremental expectation-maximisation (Neal & Hinton 1998, in Learning in Graphical
Models, 355-368). The log multipliers of old batches stay linearised where they were. Gauge noise stays as it was.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from springfit.learning.coverage import joined
from springfit.learning.experience import Experience
from springfit.learning.faults.back_pass import learn_hump
from springfit.learning.faults.screening import of_this_steel, sound
from springfit.learning.fitting import Fit, back_pass_stretches, faults_found
from springfit.learning.model import SpringModel
from springfit.learning.regression.estimation import Squares, better_spreads, running_squares, shop_squares
from springfit.learning.regression.hierarchy import solve
from springfit.learning.regression.layout import Layout
from springfit.learning.regression.posterior import Start
from springfit.learning.regression.prior_sd import Prior, Spreads

__all__ = ["Update", "updated"]

Floats = NDArray[np.float64]

_MOST_ROUNDS = 40
_SETTLED = 0.01  # largest relative change of a spread at which rounds stop


@dataclass(frozen=True)
class Update:
    """New batches added to a model: `fit` of the new batches alone, what was known taken as their prior, and running
    `squares` over all bells and batches."""

    known: _Known
    fit: Fit
    squares: Squares

    def model(self, version: str) -> SpringModel:
        """The model of old and new batches; its validation stays that of the last full fit."""
        old, new = self.known.model, self.fit.model(version)
        layout = replace(new.layout, facts={**old.layout.facts, **new.layout.facts})
        last = {batch.mandrel_id: batch.spun_on for batch in sorted(old.batches, key=lambda b: b.spun_on)}
        later = {batch.mandrel_id for batch in new.batches if batch.spun_on >= last.get(batch.mandrel_id, "")}
        return replace(
            new, layout=layout, batches=(*old.batches, *new.batches),
            steel={**old.steel, **{name: steel for name, steel in new.steel.items() if name in later}},
            reach=joined(old.reach, new.reach, layout.levels),
            set_aside=(*old.set_aside, *new.set_aside), faults=(*old.faults, *new.faults),
            noise_scale=old.noise_scale, validation=old.validation,
        )  # fmt: skip

    def without(self, batch: str, version: str) -> SpringModel:
        """The model without one of the new batches, its spreads left as they are."""
        made = self.fit.experience
        rest = replace(made, bells=tuple(bell for bell in made.bells if bell.batch_id != batch))
        return replace(self, fit=_solved(self.known, rest, self.fit.spreads, self.fit)).model(version)


def updated(model: SpringModel, squares: Squares, fresh: Experience) -> Update:
    """`model`, whose running `squares` are given, with the batches of `fresh`, none of which it has learned. The
    columns of `fresh` must begin with those of the model (`experience_of(..., known=)`).

    New bells are screened twice for what springback cannot do: by what was known, then by their own batches.
    """
    known = _Known.of(model, fresh)
    candidates = of_this_steel(fresh)
    fit = _solved(known, replace(candidates, bells=()), model.spreads)
    update = Update(known, fit, squares)
    for _ in range(2):
        faults = faults_found(update.fit, candidates.bells)
        update = _settled(known, sound(candidates, candidates.bells, faults), squares)
        update = replace(update, fit=replace(update.fit, faults=faults))
    hump = learn_hump(back_pass_stretches(update.fit), model.hump)
    return replace(update, fit=replace(update.fit, hump=hump))


@dataclass(frozen=True)
class _Known:
    """What a model knows, in the places of a `layout` grown by new labels, mandrels and gauges: its unknowns `mean`
    there, and of its records the `information` L (unknowns, unknowns) and the `pull` L times what they say."""

    model: SpringModel
    layout: Layout
    mean: Floats
    information: Floats
    pull: Floats

    @classmethod
    def of(cls, model: SpringModel, fresh: Experience) -> _Known:
        old, new = model.layout, fresh.layout()
        layout = Layout(
            new.columns, new.facts, _together(old.mandrels, new.mandrels),
            tuple(_together(*kinds) for kinds in zip(old.levels, new.levels, strict=True)),
        )  # fmt: skip
        beforehand = Prior.of(old)
        held, all_of_it = beforehand.precision(model.spreads), np.linalg.inv(model.covariance)
        at = old.places_in(layout)
        information, pull = np.zeros((layout.size, layout.size)), np.zeros(layout.size)
        information[np.ix_(at, at)] = (all_of_it + all_of_it.T) / 2 - held
        pull[at] = all_of_it @ model.mean - held @ beforehand.mean
        mean = Prior.of(layout).mean
        mean[at] = model.mean
        return cls(model, layout, mean, information, pull)

    def prior(self, layout: Layout, spreads: Spreads) -> _Learned:
        """Prior of the new batches of `layout`."""
        beforehand = Prior.of(layout)
        held = beforehand.precision(spreads)
        precision = held + self.information
        mean = np.linalg.solve(precision, held @ beforehand.mean + self.pull)
        return _Learned(layout, mean.astype(np.float64), precision)


@dataclass(frozen=True)
class _Learned(Prior):
    """A prior that was learned: its precision is `known`, at one set of spreads."""

    known: Floats

    def precision(self, spreads: Spreads) -> Floats:
        """The precision learned; `spreads` must be those it was learned at."""
        return self.known


def _settled(known: _Known, fresh: Experience, squares: Squares) -> Update:
    """The solve of the new batches at the spreads that old and new ask for together."""
    spreads, fit = known.model.spreads, None
    for _ in range(_MOST_ROUNDS):
        fit = _solved(known, fresh, spreads, fit)
        running = _sum(squares, running_squares(fit.summaries, fit.layout, fit.posterior))
        of_shop = shop_squares(fit.layout, Prior.of(fit.layout), fit.posterior)
        better = better_spreads({**running, **of_shop}, spreads)
        change = max(abs(np.log(better[name] / spreads[name])) for name in better.values)
        spreads = better
        if change < _SETTLED:
            break
    return Update(known, _solved(known, fresh, spreads, fit), running)


def _solved(known: _Known, fresh: Experience, spreads: Spreads, last: Fit | None = None) -> Fit:
    """New batches solved on what was known; `last` fit of the same kind to begin from."""
    model = known.model
    layout = replace(known.layout, facts=fresh.layout().facts)
    prior = known.prior(layout, spreads)
    same = last is not None and last.summaries.bell_ids == tuple(bell.bell_id for bell in fresh.bells)
    summaries = last.summaries if last is not None and same else fresh.summaries(dict(model.noise_scale))
    start = Start(known.mean, {}) if last is None else last.posterior.start()
    posterior = solve(summaries, layout, prior, spreads, start)
    faults = () if last is None else last.faults
    return Fit(
        fresh, layout, prior, spreads, posterior, summaries, dict(model.noise_scale), faults, model.hump
    )


def _sum(one: Squares, other: Squares) -> Squares:
    return {
        name: (one[name][0] + other[name][0], one[name][1] + other[name][1])
        for name in one.keys() & other.keys()
    }


def _together(old: tuple[str, ...], new: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(sorted({*old, *new}))
