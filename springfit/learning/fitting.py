"""Fitting a shop: from its experience to the model that is kept.

Fitting goes round three times: spreads and unknowns from what looks sound, then what springback cannot explain is
taken out and each gauge's noise is measured, then again. The model holds no readings: shop unknowns with their
covariance, spreads, what is known of faults, and how far experience reaches.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from joblib import Parallel, delayed
from numpy.typing import NDArray

from springfit.learning.coverage import coverage_of_experience
from springfit.learning.data.observations import Bell
from springfit.learning.experience import Experience
from springfit.learning.faults.back_pass import BackPassHump, learn_hump
from springfit.learning.faults.fault_search import LocalFault
from springfit.learning.faults.screening import of_this_steel, sound
from springfit.learning.fit import Fit
from springfit.learning.forecasting.fitted_structure import FittedStructure
from springfit.learning.forecasting.gap_forecast import Bands
from springfit.learning.model import SpringModel
from springfit.learning.regression.estimation import Solved, estimate
from springfit.learning.regression.hierarchy import solve
from springfit.learning.regression.layout import Layout
from springfit.learning.regression.prior_sd import Prior, Spreads
from springfit.learning.regression.structures import STRUCTURES, Structure
from springfit.learning.regression.summaries import Summaries
from springfit.learning.residuals import (
    back_pass_stretches,
    faults_found,
    noise_scale,
    sound_though_passed_back,
)

__all__ = ["fit_model", "physics_model", "read_freely"]

Floats = NDArray[np.float64]

ROUNDS = 3  # a fault found in one is out of the next; a third for what it hid. Assumed enough
FREE = ("varied", "free", "share")  # structures without laid columns
READING = ("laid", "assumed", "free")  # structures that may read the bells while faults are sought
# Batches beyond which spreads are sought on half as many, evenly among them, and kept: a standard deviation that a
# hundred batches and their bells teach is sure to 7 %, and bands are set right on left-out batches afterwards.
MANY = 200


def fit_model(experience: Experience, *, progress: Callable[[str], None] = lambda _: None) -> Fit | None:
    """Fit a shop; None when no bell has been measured yet."""
    experience = of_this_steel(experience)
    candidates = experience.bells
    if not candidates:
        return None
    current = replace(experience, bells=_without_back_passes(experience))
    noise: dict[str, float] = {}
    faults: tuple[LocalFault, ...] = ()
    begin = _begun(current, progress) if len(current.layout().facts) > MANY else _Beginning()
    names: tuple[str, ...] = (begin.reading,) if begin.kept else READING
    for round_ in range(1, ROUNDS):
        progress(f"round {round_} of {ROUNDS}: {len(current.bells)} bells")
        fit = _estimated(current, names, noise, faults, begin)
        names = (fit.lead.structure.name,)
        noise, faults = noise_scale(fit), faults_found(fit, candidates)
        current = sound(experience, candidates, faults)
        begin = begin if begin.kept else _Beginning(fit.layout, fit.solved)
        if not current.bells:
            return None  # nothing sound is left: mechanics alone says more than that
        del fit  # its Gram matrices, before the next ones are made
    progress(f"round {ROUNDS} of {ROUNDS}: {len(current.bells)} bells")
    fit = _estimated(current, tuple(STRUCTURES), noise, faults, begin)
    return replace(fit, hump=learn_hump(back_pass_stretches(fit), sound=sound_though_passed_back(fit)))


def read_freely(experience: Experience) -> Fit | None:
    """What bells show by fields of free stress, which assume nothing of laying, no fault sought; None where no sound
    bell has been measured."""
    sound_ones = replace(experience, bells=_without_back_passes(of_this_steel(experience)))
    return _estimated(sound_ones, FREE, {}, (), _Beginning()) if sound_ones.bells else None


@dataclass(frozen=True)
class _Beginning:
    """Where an estimate begins: structures already learned of nearly the same shop, with its layout; their spreads stay
    where they are `kept`."""

    layout: Layout | None = None
    solved: tuple[Solved, ...] = ()
    kept: bool = False

    @property
    def reading(self) -> str:
        """The structure of most evidence among those that may read the bells."""
        return next(one.structure.name for one in self.solved if one.structure.name in READING)

    def estimate(self, summaries: Summaries, layout: Layout, structure: Structure) -> Solved:
        """The structure learned from the bells of `summaries`."""
        prior = Prior.of(layout, structure)
        for one in self.solved:
            if one.structure.name == structure.name and self.layout is not None:
                mean = self.layout.carried(one.posterior.mean, layout)
                start = replace(one.posterior.start(), mean=mean)
                if self.kept:
                    return Solved(prior, one.spreads, solve(summaries, layout, prior, one.spreads, start))
                return estimate(summaries, layout, prior, start=one.spreads, begin=start)
        return estimate(summaries, layout, prior)


def _begun(experience: Experience, progress: Callable[[str], None]) -> _Beginning:
    """A beginning from some of many batches, evenly among them: spreads settle there at a fraction of the cost."""
    progress(f"spreads from {MANY // 2} of {len(experience.layout().facts)} batches")
    batches = list(experience.layout().facts)
    some = set(batches[:: -(-len(batches) // (MANY // 2))])
    few = replace(experience, bells=tuple(bell for bell in experience.bells if bell.batch_id in some))
    fit = _estimated(few, tuple(STRUCTURES), {}, (), _Beginning())
    return _Beginning(fit.layout, fit.solved, kept=True)


def _estimated(
    current: Experience,
    names: tuple[str, ...],
    noise: dict[str, float],
    faults: tuple[LocalFault, ...],
    begin: _Beginning,
) -> Fit:
    """The structures `names` learned from the bells of `current`, the one with most evidence first."""
    layout, summaries = current.layout(), current.summaries(noise)
    # Threads share the summaries; each structure is learned by itself, so their number changes nothing but the memory
    # that many bells take.
    solved: list[Solved] = Parallel(n_jobs=1 if begin.kept else -1, prefer="threads")(
        delayed(begin.estimate)(summaries, layout, STRUCTURES[name]) for name in names
    )
    solved.sort(key=lambda one: -one.posterior.log_evidence)
    return Fit(current, layout, tuple(solved), summaries, noise, faults, BackPassHump())


def physics_model(experience: Experience, version: str = "") -> SpringModel:
    """The model of a shop that has measured nothing: what laying says, and the prior about it."""
    layout = replace(experience, bells=()).layout()
    prior = Prior.of(layout, STRUCTURES["laid"])
    spreads = Spreads(prior.structure.start)
    covariance = np.linalg.inv(prior.precision(spreads)).astype(np.float64)
    return SpringModel(
        version=version, book_digest=experience.digest, units=experience.units, hand=experience.hand, layout=layout,
        structures=(FittedStructure(prior.structure.name, spreads, prior.mean, covariance),),
        known=Bands.equal(1), new=Bands.equal(1), noise_scale={}, hump=BackPassHump(),
        batches=(), steel={}, coverage=coverage_of_experience({}, {}, layout.levels), set_aside=experience.set_aside,
        faults=(), validation={},
    )  # fmt: skip


def _without_back_passes(experience: Experience) -> tuple[Bell, ...]:
    """Bells to begin with: those of batches without passes toward the tail, when there are enough of them."""
    sound = tuple(b for b in experience.bells if not experience.conditions[b.batch_id].back_passes)
    return sound if len({b.batch_id for b in sound}) >= 2 else experience.bells
