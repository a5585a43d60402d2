"""New batches added to a model that keeps no readings: its posterior is the sufficient statistic of all it learned.

Given the shop's unknowns batches are independent, so the posterior of the old batches is the prior of the new ones:

    precision = P(spreads) + L,   L = S^-1 - P(spreads before),      S the posterior covariance before,

and the same for precision times mean. L is what the records said, P what was held beforehand, which grows with every
new label, mandrel and gauge and follows the spreads. These move by the running squares of all bells and batches, the
old ones' as they were left: incremental expectation-maximisation (Neal & Hinton 1998, in Learning in Graphical
Models, 355-368). The log multipliers of old batches stay linearised where they were. Gauge noise stays as it was.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from springfit.learning.coverage import joined
from springfit.learning.experience import Experience
from springfit.learning.faults.back_pass import learn_hump
from springfit.learning.faults.screening import of_this_steel, sound
from springfit.learning.fit import Fit
from springfit.learning.forecasting.fitted_structure import FittedStructure
from springfit.learning.model import SpringModel
from springfit.learning.regression.estimation import Solved, Squares, running_squares, settle, shop_squares
from springfit.learning.regression.hierarchy import SETTLED, solve
from springfit.learning.regression.layout import Layout
from springfit.learning.regression.posterior import Start
from springfit.learning.regression.prior_sd import Prior, Spreads
from springfit.learning.regression.structures import STRUCTURES
from springfit.learning.regression.summaries import Summaries
from springfit.learning.residuals import back_pass_stretches, faults_found, sound_though_passed_back

__all__ = ["Update", "updated"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Update:
    """New batches added to a model: `fit` of the new batches alone, what was known taken as their prior, and running
    `squares` over all bells and batches, by structure."""

    model_before: SpringModel
    known: tuple[_Known, ...]
    fit: Fit
    squares: Mapping[str, Squares]

    def model(self, version: str) -> SpringModel:
        """The model of old and new batches; its validation and bands stay those of the last full fit."""
        old = self.model_before
        new = self.fit.model(version, known=old.known, new=old.new)
        layout = replace(new.layout, facts={**old.layout.facts, **new.layout.facts})
        last = {batch.mandrel_id: batch.spun_on for batch in sorted(old.batches, key=lambda b: b.spun_on)}
        later = {batch.mandrel_id for batch in new.batches if batch.spun_on >= last.get(batch.mandrel_id, "")}
        return replace(
            new, layout=layout, batches=(*old.batches, *new.batches),
            steel={**old.steel, **{name: steel for name, steel in new.steel.items() if name in later}},
            coverage=joined(old.coverage, new.coverage, layout.levels),
            set_aside=(*old.set_aside, *new.set_aside), faults=(*old.faults, *new.faults),
            noise_scale=old.noise_scale, validation=old.validation,
        )  # fmt: skip

    def without(self, batch: str, version: str) -> SpringModel:
        """The model without one of the new batches, its spreads left as they are."""
        made = self.fit.experience
        rest = replace(made, bells=tuple(bell for bell in made.bells if bell.batch_id != batch))
        summaries = self.fit.summaries.only(np.array([b != batch for b in self.fit.summaries.batch_ids], dtype=bool))
        solved = tuple(
            known.solved(rest, summaries, one.spreads, one)
            for known, one in zip(self.known, self.fit.solved, strict=True)
        )
        fit = replace(self.fit, experience=rest, layout=self.known[0].grown(rest), solved=solved, summaries=summaries)
        return replace(self, fit=fit).model(version)


def updated(model: SpringModel, squares: Mapping[str, Squares], fresh: Experience) -> Update:
    """`model`, whose running `squares` are given by structure, with the batches of `fresh`, none of which it has
    learned. The columns of `fresh` must begin with those of the model (`experience_of(..., known=)`).

    New bells are screened twice for what springback cannot do: by what was known, then by their own batches.
    """
    known = tuple(_Known.of(model, one, fresh) for one in model.structures)
    candidates = of_this_steel(fresh)
    nothing = replace(candidates, bells=())
    lead = known[0].solved(nothing, _summaries(model, nothing), model.structures[0].spreads)
    fit = Fit(
        nothing, known[0].grown(nothing), (lead,), _summaries(model, nothing), dict(model.noise_scale), (), model.hump
    )
    for last in (False, True):
        faults = faults_found(fit, candidates.bells)
        made = sound(candidates, candidates.bells, faults)
        summaries = _summaries(model, made)
        of = known if last else known[:1]
        settled = [one.settled(made, summaries, squares[one.name]) for one in of]
        solved = tuple(one for one, _ in settled)
        layout = known[0].grown(made)
        fit = replace(
            fit, experience=made, layout=layout, solved=solved, summaries=summaries, faults=faults
        )
    hump = learn_hump(back_pass_stretches(fit), model.hump, sound=sound_though_passed_back(fit))
    running = {one.name: each for one, (_, each) in zip(known, settled, strict=True)}
    return Update(model, known, replace(fit, hump=hump), running)


def _summaries(model: SpringModel, fresh: Experience) -> Summaries:
    return fresh.summaries(dict(model.noise_scale))


@dataclass(frozen=True)
class _Known:
    """What a structure knows, in the places of a `layout` grown by new labels, mandrels and gauges: its unknowns `mean`
    there, its `spreads`, and of its records the `information` L (unknowns, unknowns) and the `pull` L times what they
    say."""

    name: str
    spreads: Spreads
    layout: Layout
    mean: Floats
    information: Floats
    pull: Floats

    @classmethod
    def of(cls, model: SpringModel, fitted: FittedStructure, fresh: Experience) -> _Known:
        old, new = model.layout, fresh.layout()
        layout = Layout(
            new.columns, new.facts, _together(old.mandrels, new.mandrels),
            tuple(_together(*kinds) for kinds in zip(old.levels, new.levels, strict=True)),
        )  # fmt: skip
        beforehand = Prior.of(old, STRUCTURES[fitted.name])
        held, all_of_it = beforehand.precision(fitted.spreads), np.linalg.inv(fitted.covariance)
        at = old.places_in(layout)
        information, pull = np.zeros((layout.size, layout.size)), np.zeros(layout.size)
        information[np.ix_(at, at)] = (all_of_it + all_of_it.T) / 2 - held
        pull[at] = all_of_it @ fitted.mean - held @ beforehand.mean
        mean = Prior.of(layout, STRUCTURES[fitted.name]).mean
        mean[at] = fitted.mean
        return cls(fitted.name, fitted.spreads, layout, mean, information, pull)

    def grown(self, fresh: Experience) -> Layout:
        """The layout for the batches of `fresh`."""
        return replace(self.layout, facts=fresh.layout().facts)

    def prior(self, layout: Layout, spreads: Spreads) -> _Learned:
        """Prior of the new batches of `layout`."""
        beforehand = Prior.of(layout, STRUCTURES[self.name])
        held = beforehand.precision(spreads)
        precision = held + self.information
        mean = np.linalg.solve(precision, held @ beforehand.mean + self.pull)
        return _Learned(layout, beforehand.structure, mean.astype(np.float64), precision)

    def solved(
        self,
        fresh: Experience,
        summaries: Summaries,
        spreads: Spreads,
        last: Solved | None = None,
        settled: float = SETTLED,
    ) -> Solved:
        """New batches solved on what was known; `last` solve of the same kind to begin from, rounds until `settled`."""
        layout = self.grown(fresh)
        prior = self.prior(layout, spreads)
        start = Start(self.mean, {}) if last is None else last.posterior.start()
        return Solved(prior, spreads, solve(summaries, layout, prior, spreads, start, settled=settled))

    def settled(self, fresh: Experience, summaries: Summaries, squares: Squares) -> tuple[Solved, Squares]:
        """The solve of the new batches at the spreads that old and new ask for together, and all squares then."""
        layout, structure = self.grown(fresh), STRUCTURES[self.name]

        def at(spreads: Spreads, last: Solved | None, settled: float) -> tuple[Solved, Squares]:
            solved = self.solved(fresh, summaries, spreads, last, settled)
            running = _sum(squares, running_squares(summaries, layout, solved.posterior))
            return solved, {**running, **shop_squares(layout, Prior.of(layout, structure), solved.posterior)}

        solved, every = settle(at, self.spreads, structure)
        return solved, {name: every[name] for name in squares}


@dataclass(frozen=True)
class _Learned(Prior):
    """A prior that was learned: its precision is `known`, at one set of spreads."""

    known: Floats

    def precision(self, spreads: Spreads) -> Floats:
        """The precision learned; `spreads` must be those it was learned at."""
        return self.known


def _sum(one: Squares, other: Squares) -> Squares:
    return {
        name: (one[name][0] + other[name][0], one[name][1] + other[name][1])
        for name in one.keys() & other.keys()
    }


def _together(old: tuple[str, ...], new: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(sorted({*old, *new}))
