"""Fitting a shop: from its experience to the model that is kept.

Fitting goes round three times: spreads and unknowns from what looks sound, then what springback cannot explain is
taken out and each gauge's noise is measured, then again. The model holds no readings: shop unknowns with their
covariance, spreads, what is known of faults, and how far experience reaches.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.meridian import Meridian
from springfit.geometry.points import Points
from springfit.learning.basis.fields import FIELDS
from springfit.learning.coverage import reach_of_experience
from springfit.learning.data.observations import Bell
from springfit.learning.experience import Experience
from springfit.learning.faults.back_pass import BackPassHump, FaultyStretch, learn_hump
from springfit.learning.faults.fault_search import LocalFault, faults_of
from springfit.learning.faults.screening import explained, of_this_steel, sound
from springfit.learning.forecasting.fitted_structure import FittedStructure
from springfit.learning.forecasting.gap_forecast import Bands
from springfit.learning.model import KnownBatch, SpringModel
from springfit.learning.regression.estimation import Solved, estimate
from springfit.learning.regression.hierarchy import local_turn
from springfit.learning.regression.layout import Layout
from springfit.learning.regression.link import OWN
from springfit.learning.regression.prior_sd import Prior, Spreads
from springfit.learning.regression.structures import STRUCTURES, Structure
from springfit.learning.regression.summaries import Summaries, remainder_columns

__all__ = ["Fit", "back_pass_stretches", "faults_found", "fit_model", "physics_model"]

Floats = NDArray[np.float64]

ROUNDS = 3
READING = ("laid", "gripped", "free")  # structures that may read the bells while faults are sought
MANY = 200  # batches beyond which the first spreads are sought on half as many
NOISE_RANGE = (0.7, 3.0)  # how far a gauge's own noise may lie from what its row states


@dataclass(frozen=True)
class Fit:
    """A fitted shop: the experience it rests on (sound bells only), what each structure makes of it, and what was taken
    out. The first of `solved` is the one that the bells themselves bear out best: it reads them, and finds faults."""

    experience: Experience
    layout: Layout
    solved: tuple[Solved, ...]
    summaries: Summaries
    noise_scale: dict[str, float]
    faults: tuple[LocalFault, ...]
    hump: BackPassHump

    @property
    def lead(self) -> Solved:
        """The structure by which the bells are read."""
        return self.solved[0]

    def model(
        self,
        version: str = "",
        validation: Mapping[str, Mapping[str, float]] | None = None,
        *,
        known: Bands | None = None,
        new: Bands | None = None,
    ) -> SpringModel:
        """The model that stays once the readings are gone, mixed as `known` and `new` say (None: in equal parts)."""
        made = self.experience
        counts = Counter(bell.batch_id for bell in made.bells)
        batches = tuple(
            KnownBatch(b, f.mandrel_id, made.revision[b], made.spun_on[b], counts[b], self._largest_gap(b))
            for b, f in self.layout.facts.items()
        )
        newest = {
            b.mandrel_id: made.steel[b.mandrel_id, b.revision]
            for b in sorted(batches, key=lambda b: b.spun_on)
        }
        structures = tuple(
            FittedStructure(one.structure.name, one.spreads, one.posterior.mean, one.posterior.covariance)
            for one in self.solved
        )
        equal = Bands.equal(len(structures))
        return SpringModel(
            version=version, book_digest=made.digest, units=made.units, layout=self.layout, structures=structures,
            known=known or equal, new=new or equal, noise_scale=self.noise_scale,
            hump=self.hump, batches=batches, steel=newest, set_aside=made.set_aside, faults=self.faults,
            validation=validation or {},
            reach=reach_of_experience(_measured(made), dict(self.layout.facts), self.layout.levels),
        )  # fmt: skip

    def measured_gap(self, batch: str) -> tuple[Floats, Floats]:
        """Arc stations and mean gap [mm] of a batch as its bells showed it, springback only."""
        face = self.experience.faces[batch]
        return face.arc, face.normal @ self.lead.posterior.batches[batch].coefficients[: face.normal.shape[1]]

    def coefficients(self, batch: str) -> Floats:
        """Shared coefficients (columns.shared,) of a batch: fitted, or expected from its features when it was not in
        the fit."""
        if batch in self.lead.posterior.batches:
            return self.lead.posterior.batches[batch].coefficients
        facts = self.experience.facts[batch]
        return self.layout.linearised_at(facts, self.lead.posterior.mean, np.zeros(OWN), self.lead.structure.link)[0]

    def flare_columns(self, batch: str, part: float) -> tuple[Floats, Points, Floats]:
        """Over the flare (past `part` of the arc) of a batch: gap columns of fields and remainder (n, columns), the
        points, and the gap of one hoop share the same everywhere (n,) [mm]."""
        basis, steel = self.experience.faces[batch], self.experience.meridian(batch)
        flare = basis.arc > part * basis.arc[-1]
        remainder = remainder_columns(basis.arc, basis.slope, steel.length)
        everywhere = np.array([one.share == "hoop" and one.place >= 0 for one in FIELDS])
        unit = basis.normal[:, everywhere].sum(axis=1)
        return np.hstack((basis.normal, remainder))[flare], steel.at(basis.arc[flare]), unit[flare]

    def _largest_gap(self, batch: str) -> float:
        return float(np.max(np.abs(self.measured_gap(batch)[1])))


def fit_model(experience: Experience, *, progress: Callable[[str], None] = lambda _: None) -> Fit | None:
    """Fit a shop; None when no bell has been measured yet."""
    experience = of_this_steel(experience)
    candidates = experience.bells
    if not candidates:
        return None
    current = replace(experience, bells=_without_back_passes(experience))
    names: tuple[str, ...] = READING
    noise: dict[str, float] = {}
    faults: tuple[LocalFault, ...] = ()
    begin = _begun(current) if len(current.layout().facts) > MANY else _Beginning()
    for round_ in range(1, ROUNDS):
        progress(f"round {round_} of {ROUNDS}: {len(current.bells)} bells")
        fit = _estimated(current, names, noise, faults, begin)
        names = (fit.lead.structure.name,)
        noise, faults = _noise_scale(fit), faults_found(fit, candidates)
        current, begin = sound(experience, candidates, faults), _Beginning(fit.layout, fit.solved)
        if not current.bells:
            return None  # nothing sound is left: mechanics alone says more than that
        del fit  # its Gram matrices, before the next ones are made
    progress(f"round {ROUNDS} of {ROUNDS}: {len(current.bells)} bells")
    fit = _estimated(current, tuple(STRUCTURES), noise, faults, begin)
    return replace(fit, hump=learn_hump(back_pass_stretches(fit)))


@dataclass(frozen=True)
class _Beginning:
    """Where an estimate begins: structures already learned of nearly the same shop, with its layout."""

    layout: Layout | None = None
    solved: tuple[Solved, ...] = ()

    def estimate(self, summaries: Summaries, layout: Layout, structure: Structure) -> Solved:
        """The structure learned from the bells of `summaries`."""
        prior = Prior.of(layout, structure)
        for one in self.solved:
            if one.structure is structure and self.layout is not None:
                mean = self.layout.carried(one.posterior.mean, layout)
                start = replace(one.posterior.start(), mean=mean)
                return estimate(summaries, layout, prior, start=one.spreads, begin=start)
        return estimate(summaries, layout, prior)


def _begun(experience: Experience) -> _Beginning:
    """A beginning from some of many batches, evenly among them: spreads settle there at a fraction of the cost."""
    batches = list(experience.layout().facts)
    some = set(batches[:: -(-len(batches) // (MANY // 2))])
    few = replace(experience, bells=tuple(bell for bell in experience.bells if bell.batch_id in some))
    fit = _estimated(few, tuple(STRUCTURES), {}, (), _Beginning())
    return _Beginning(fit.layout, fit.solved)


def _estimated(
    current: Experience,
    names: tuple[str, ...],
    noise: dict[str, float],
    faults: tuple[LocalFault, ...],
    begin: _Beginning,
) -> Fit:
    """The structures `names` learned from the bells of `current`, the one with most evidence first."""
    layout, summaries = current.layout(), current.summaries(noise)
    solved = [begin.estimate(summaries, layout, STRUCTURES[name]) for name in names]
    solved.sort(key=lambda one: -one.posterior.log_evidence)
    return Fit(current, layout, tuple(solved), summaries, noise, faults, BackPassHump())


def _measured(experience: Experience) -> dict[str, Points]:
    """Stations every 4 mm over the measured length of each mandrel."""
    ends: dict[str, tuple[Meridian, float]] = {}
    for bell in experience.bells:
        name = experience.facts[bell.batch_id].mandrel_id
        reached = max(float(bell.arc.max()), ends[name][1] if name in ends else 0.0)
        ends[name] = (experience.meridian(bell.batch_id), reached)
    return {
        name: steel.at(np.arange(0.0, min(end, steel.length), 4.0)) for name, (steel, end) in ends.items()
    }


def physics_model(experience: Experience, version: str = "") -> SpringModel:
    """The model of a shop that has measured nothing: what laying says, and the prior about it."""
    layout = replace(experience, bells=()).layout()
    prior = Prior.of(layout, STRUCTURES["laid"])
    spreads = Spreads(prior.structure.start)
    covariance = np.linalg.inv(prior.precision(spreads)).astype(np.float64)
    return SpringModel(
        version=version, book_digest=experience.digest, units=experience.units, layout=layout,
        structures=(FittedStructure(prior.structure.name, spreads, prior.mean, covariance),),
        known=Bands.equal(1), new=Bands.equal(1), noise_scale={}, hump=BackPassHump(),
        batches=(), steel={}, reach=reach_of_experience({}, {}, layout.levels), set_aside=experience.set_aside,
        faults=(), validation={},
    )  # fmt: skip


def _without_back_passes(experience: Experience) -> tuple[Bell, ...]:
    """Bells to begin with: those of batches without passes toward the tail, when there are enough of them."""
    sound = tuple(b for b in experience.bells if not experience.conditions[b.batch_id].back_passes)
    return sound if len({b.batch_id for b in sound}) >= 2 else experience.bells


def faults_found(fit: Fit, candidates: tuple[Bell, ...]) -> tuple[LocalFault, ...]:
    """What springback as fitted cannot explain, bell by bell."""
    made = fit.experience
    found: list[LocalFault] = []
    for bell in candidates:
        found.extend(
            faults_of(bell, explained(bell, made.columns, fit.coefficients(bell.batch_id), fit.lead.spreads))
        )
    return tuple(found)


def _residuals(fit: Fit, bell: Bell, index: int) -> Floats:
    """Readings less all that the fit says of them, (n,) [mm]; `index` of the bell in the summaries."""
    columns = fit.summaries.columns
    design = bell.design
    k = fit.coefficients(bell.batch_id)
    local = local_turn(columns, k) @ fit.lead.posterior.bell_mean[index]
    return bell.gap - design[:, : columns.shared] @ k - design @ local


def _noise_scale(fit: Fit) -> dict[str, float]:
    """Noise of each gauge beside what its row states: root mean square of standardised residuals, the bells' own
    unknowns allowed for, towards 1 where there are few rows."""
    squares: dict[str, list[float]] = {}
    for index, bell in enumerate(fit.experience.bells):
        standard = _residuals(fit, bell, index) ** 2 / bell.variance
        spare = max(0.3, 1.0 - 8.0 / len(standard))
        for number, session in enumerate(bell.sessions):
            of_place = (bell.session == number) & (bell.springs > 0)
            squares.setdefault(session.gauge_id, []).extend(standard[of_place] / spare)
    few = 50.0
    return {
        gauge: float(np.clip(np.sqrt((few + np.sum(values)) / (few + len(values))), *NOISE_RANGE))
        for gauge, values in squares.items()
    }


def back_pass_stretches(fit: Fit) -> list[FaultyStretch]:
    """The faulty stretches of batches that had passes toward the tail."""
    made = fit.experience
    index = {bell: i for i, bell in enumerate(fit.summaries.bell_ids)}
    raw = {bell.bell_id: bell for bell in made.raw}
    stretches = []
    for fault in fit.faults:
        if fault.whole or fault.bell_id not in index or not made.conditions[fault.batch_id].back_passes:
            continue
        bell = raw[fault.bell_id]
        inside = (bell.arc > fault.arc_from) & (bell.arc < fault.arc_to)
        rest = _residuals(fit, bell, index[fault.bell_id])[inside]
        past = bell.arc[inside] - made.draw_end_arc(fault.batch_id)
        stretches.append(FaultyStretch(fault.batch_id, past, rest))
    return stretches
