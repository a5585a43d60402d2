"""The model as it is kept and asked: what a fit leaves once the readings are gone.

A forecast asks for the gap of one mandrel under one set of conditions. The mean is the release of the expected shares,
held within what yield allows; the bands add what is not known of the shop, of a new batch, of the blanks in the
conditions and of one bell, and never pass the elastic envelope.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.batch_basis import batch_basis, draw_end_arc
from springfit.learning.basis.stress_basis import FIELDS, StressBasis
from springfit.learning.coverage import Reach, trust_of
from springfit.learning.experience import SetAside, batch_facts, reach_of
from springfit.learning.faults.back_pass import BackPassHump
from springfit.learning.faults.fault_search import LocalFault
from springfit.learning.laid import laid_gap
from springfit.learning.memory import Memory
from springfit.learning.regression.layout import BatchFacts, Layout
from springfit.learning.regression.prior_sd import Spreads
from springfit.learning.regression.summaries import REMAINDERS, remainder_columns
from springfit.mechanics.shell.limits import LARGEST_SHARE, USEFUL_HOOP
from springfit.records.conditions import Conditions

__all__ = ["GapForecast", "KnownBatch", "SpringModel", "freedom_of"]

Floats = NDArray[np.float64]

DRAW_ENDS_TRIED = (0.85, 1.0, 1.15)  # of the usual one, where the record does not say where drawing stopped
SAME_STEEL_MM = 0.75  # normal distance within which a draft counts as a revision of a recorded mandrel
# 1 sd of the meridional share of flow stress locked in the drawn tail. It shortens the tail, so it moves the flare
# along the axis, and a seat nobody knows hides that from all but a few readings: records hardly tell it, however many
# there are, so the band does not close on it. The laying model shows such a pull, of up to a few tenths.
TAIL_PULL = 0.08
TAIL_FIELD = [field.name for field in FIELDS].index("meridional_drawn")
BAND_90 = 1.645  # standard deviations each way of a normal 90 % band


@dataclass(frozen=True)
class KnownBatch:
    """What stays of a batch: when and on what it was spun, how many bells of it were learned from, and the largest gap
    [mm] of their mean."""

    batch_id: str
    mandrel_id: str
    revision: int
    spun_on: str
    bells: int
    largest_gap: float


def freedom_of(batches: int) -> float:
    """Degrees of freedom of Student's t for bands learned from `batches`: that many less the two that a spread costs.

    Below five batches they go from 3 down to 2, for one batch tells nothing of how batches differ; without any,
    where the band is the elastic envelope, 3.
    """
    return max(batches - 2.0, 2.0 + (batches - 1.0) / 3.0) if batches else 3.0


@dataclass(frozen=True)
class GapForecast:
    """Gap at arc stations of one bell; all arrays (n,) [mm]. `mean_sd` of a new batch's mean, `bell_sd` of one bell,
    both scales of Student's t with `freedom`; `axial` motion, tail registered; `trust` a word a station."""

    arc: Floats
    gap: Floats
    mean_sd: Floats
    bell_sd: Floats
    axial: Floats
    freedom: float
    trust: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class SpringModel:
    """A shop's springback. `mean` and `covariance` of the unknowns of `layout`; `steel` profiles of its mandrels by id
    for telling a draft of a known mandrel; `reach` of experience; `set_aside` what nothing was learned from."""

    version: str
    book_digest: str
    units: str
    layout: Layout
    spreads: Spreads
    mean: Floats
    covariance: Floats
    noise_scale: Mapping[str, float]
    hump: BackPassHump
    batches: tuple[KnownBatch, ...]
    steel: Mapping[str, Meridian]
    reach: Reach
    set_aside: tuple[SetAside, ...]
    faults: tuple[LocalFault, ...]
    validation: Mapping[str, Mapping[str, float]]
    memory: Memory | None = None
    """Of which records it was learned; None where nothing was, or for a model that is never added to."""

    @property
    def freedom(self) -> float:
        """Degrees of freedom of the bands."""
        return freedom_of(len(self.batches))

    @property
    def bells(self) -> int:
        """Count of bells learned from."""
        return sum(batch.bells for batch in self.batches)

    def gap(self, mandrel: Meridian, conditions: Conditions, *, stage: str = "trimmed") -> GapForecast:
        """Forecast of the bell that `mandrel` gives under `conditions` at `stage` (spun, trimmed).

        The gap includes the remainder that bells of the same mandrel showed beyond the shell (`remainder`).
        Raises UnknownAlloyError for an alloy that is not in the table.
        """
        if conditions.draw_end_mm is not None:
            return self._gap(mandrel, conditions, stage)
        usual = draw_end_arc(mandrel, conditions)
        ends = [
            float(np.interp(min(part * usual, mandrel.length), mandrel.s, mandrel.z))
            for part in DRAW_ENDS_TRIED
        ]
        tried = [self._gap(mandrel, replace(conditions, draw_end_mm=end), stage) for end in ends]
        spread = np.var([one.gap for one in tried], axis=0)
        middle = tried[1]
        return replace(
            middle,
            mean_sd=np.sqrt(np.max([one.mean_sd for one in tried], axis=0) ** 2 + spread),
            bell_sd=np.sqrt(np.max([one.bell_sd for one in tried], axis=0) ** 2 + spread),
            notes=(*middle.notes, "The draw end is blank: taken as two thirds of the bell, 15 % either way."),
        )

    def _gap(self, mandrel: Meridian, conditions: Conditions, stage: str) -> GapForecast:
        basis = batch_basis(mandrel, conditions, stage=stage)
        facts = batch_facts(self.mandrel_like(mandrel) or "", conditions)
        columns = self._columns(mandrel, basis)
        k, turn, own = self.layout.linearised_at(facts, self.mean, np.zeros(2))
        used = columns.shape[1]
        gap, axial = self._within_yield(basis, k, columns @ k[:used])
        if not self.batches:
            gap, axial = laid_gap(mandrel, conditions, basis)
        variance = self._mean_variance(columns, turn[:used], own[:used], facts)
        bell = self._bell_variance(columns, own[:used])
        envelope = reach_of(mandrel, conditions, basis)
        variance = variance * self._band_factor(facts) ** 2 + (TAIL_PULL * basis.normal[:, TAIL_FIELD]) ** 2
        mean_sd, bell_sd = self._within_reach(np.sqrt(variance), np.sqrt(variance + bell), gap, envelope)
        gap, mean_sd, bell_sd = self._with_hump(mandrel, conditions, basis, gap, mean_sd, bell_sd)
        points = mandrel.at(basis.arc)
        trust, notes = trust_of(self.reach, points, facts)
        return GapForecast(basis.arc, gap, mean_sd, bell_sd, axial, self.freedom, trust, notes)

    def remainder(self, mandrel: Meridian) -> tuple[Floats, Floats, Floats]:
        """Arc stations (n,), and mean and sd [mm] there of what bells of this mandrel showed beyond the shell; zeros
        for a mandrel never met."""
        arc = np.linspace(0.0, mandrel.length, 200)
        name = self.mandrel_like(mandrel)
        if name not in self.layout.mandrels:
            return arc, np.zeros_like(arc), np.zeros_like(arc)
        columns = remainder_columns(arc, mandrel.at(arc).slope, float(arc[-1]))
        start = self.layout.slices["mandrels"].start + REMAINDERS * self.layout.mandrels.index(name)
        part = slice(start, start + REMAINDERS)
        variance = np.einsum("ij,jk,ik->i", columns, self.covariance[part, part], columns)
        return arc, columns @ self.mean[part], np.sqrt(variance)

    def mandrel_like(self, mandrel: Meridian) -> str | None:
        """The recorded mandrel of which `mandrel` is a revision or a draft: the nearest within `SAME_STEEL_MM`."""
        best, nearest = None, SAME_STEEL_MM
        for name, steel in self.steel.items():
            if abs(steel.z[-1] - mandrel.z[-1]) > 0.1 * mandrel.z[-1]:
                continue
            common = np.linspace(0.0, min(steel.length, mandrel.length), 60)
            one, other = steel.at(common), mandrel.at(common)
            apart = np.abs(-(one.z - other.z) * np.sin(other.slope) + (one.r - other.r) * np.cos(other.slope))
            if apart.max() < nearest:
                best, nearest = name, float(apart.max())
        return best

    def _band_factor(self, facts: BatchFacts) -> float:
        """How much wider than the fit alone says the band is held, since left-out batches lay that far apart; left-out
        mandrels count where the mandrel is new. Never less than 1."""
        kind = "spread_batches" if facts.mandrel_id in self.layout.mandrels else "spread_mandrels"
        return max(1.0, float(self.validation.get("bands", {}).get(kind, 1.0)))

    def _columns(self, mandrel: Meridian, basis: StressBasis) -> Floats:
        return np.hstack((basis.normal, remainder_columns(basis.arc, basis.slope, mandrel.length)))

    def _within_yield(self, basis: StressBasis, k: Floats, gap: Floats) -> tuple[Floats, Floats]:
        """Gap and axial motion with every expected share held to its bound at every station.

        The part of a share beyond its bound is released on its own by scaling the fields of that share."""
        fields = k[: len(FIELDS)].copy()
        for share, (low, high) in _BOUNDS.items():
            of = np.array([field.share == share for field in FIELDS])
            value = basis.shares[:, of] @ fields[of]
            excess = max(float(value.max(initial=0.0)) / high, float(value.min(initial=0.0)) / low, 1.0)
            fields[of] /= excess
        change = basis.normal @ (fields - k[: len(FIELDS)])
        return gap + change, basis.axial @ fields

    def _mean_variance(self, columns: Floats, turn: Floats, own: Floats, facts: BatchFacts) -> Floats:
        """Variance (n,) of a new batch's mean: the shop's unknowns, the batch's own multipliers, labels never met, and
        a remainder never seen where the mandrel is new."""
        shop, batch = columns @ turn, columns @ own
        variance = np.einsum("ij,jk,ik->i", shop, self.covariance, shop)
        variance += batch**2 @ self.spreads.new_batch_variance(self.layout, facts.features, self.mean)
        both = batch.sum(axis=1)
        variance += both**2 * self.spreads.unmet_label_variance(self.layout, facts)
        if facts.mandrel_id not in self.layout.mandrels:
            variance += self.spreads["mandrels"] ** 2 * (columns[:, len(FIELDS) :] ** 2).sum(axis=1)
        return variance

    def _bell_variance(self, columns: Floats, own: Floats) -> Floats:
        batch = columns @ own
        spread = np.array([self.spreads["bell_hoop"], self.spreads["bell_along"]])
        remainder = self.spreads["bell_remainder"] ** 2 * (columns[:, len(FIELDS) :] ** 2).sum(axis=1)
        return batch**2 @ spread**2 + remainder

    def _within_reach(
        self, mean_sd: Floats, bell_sd: Floats, gap: Floats, envelope: Floats
    ) -> tuple[Floats, Floats]:
        """Bands no wider than the elastic envelope; without any bell they are the envelope."""
        widest = (envelope + np.abs(gap)) / BAND_90
        if not self.batches:
            return widest, np.maximum(widest, bell_sd)
        return np.minimum(mean_sd, widest), np.minimum(bell_sd, widest + 2 * self.spreads["bell_remainder"])

    def _with_hump(
        self, mandrel: Meridian, conditions: Conditions, basis: StressBasis,
        gap: Floats, mean_sd: Floats, bell_sd: Floats,
    ) -> tuple[Floats, Floats, Floats]:  # fmt: skip
        """The forecast with the swelling that the asked passes toward the tail leave; blank passes widen the band."""
        if conditions.back_passes == 0:
            return gap, mean_sd, bell_sd
        hump, sd = self.hump.gap(basis.arc - draw_end_arc(mandrel, conditions))
        if conditions.back_passes is None:
            chance = 0.1  # of a batch with such passes where the record does not say; a guess of the trade
            sd = np.sqrt(chance * sd**2 + chance * (1 - chance) * hump**2)
            hump = np.zeros_like(hump)
        return gap + hump, np.hypot(mean_sd, sd), np.hypot(bell_sd, sd)


_BOUNDS = {
    "hoop": (2 * USEFUL_HOOP[0], 2 * USEFUL_HOOP[1]),
    "meridional": (-LARGEST_SHARE, LARGEST_SHARE),
    "moment": (-LARGEST_SHARE, LARGEST_SHARE),
}
"""Lowest and highest share of flow stress. Hoop counts the flow stress of the sheet at 10 % strain, the worked rim may
hold up to twice the useful range of a study that counted it before laying."""
