"""The model as it is kept and asked: what a fit leaves once the readings are gone.

A forecast asks for the gap of one mandrel under one set of conditions. Every structure says what it expects and does
not know; the mixture by their weights is what is stated, its bands held within the elastic envelope. Scores of left-out
batches and mandrels, the promotion of a version and every command ask the one `SpringModel.gap`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.hand import Hand
from springfit.learning.basis.spun_sheet import draw_end_arc
from springfit.learning.coverage import Coverage, CoverageNote, trust_of
from springfit.learning.experience import batch_facts
from springfit.learning.faults.back_pass import BackPassHump
from springfit.learning.faults.fault_search import LocalFault
from springfit.learning.forecasting.asked_steel import AskedSteel, asked_steel
from springfit.learning.forecasting.fitted_structure import Expected, FittedStructure, Told
from springfit.learning.forecasting.gap_forecast import Bands, GapForecast, mixed
from springfit.learning.memory import Memory
from springfit.learning.regression.layout import BatchFacts, Layout
from springfit.learning.regression.summaries import remainder_columns
from springfit.learning.set_aside import SetAside
from springfit.normal_errors import BAND_90
from springfit.records.conditions import Conditions

__all__ = ["AskedBell", "KnownBatch", "SpringModel", "Together", "Words", "freedom_of"]

Floats = NDArray[np.float64]

# Revisions in the demo and the sample shops lie within 0.5 mm of one another; half as much again, assumed.
SAME_STEEL_MM = 0.75  # normal distance within which a draft counts as a revision of a recorded mandrel
SAME_LENGTH = 0.1  # of its length: by how much such a draft may be longer or shorter; no flare is moved so far; assumed
# Chance of passes toward the tail where the record does not say; a guess of the trade; no source
PASSED_WHERE_BLANK = 0.1


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


@dataclass(frozen=True)
class Words:
    """What the structures say of one bell: stations `arc` and `slope` (n,) [mm, rad], the elastic `envelope` (n,) [mm]
    there, what its batch brings, and each structure's words."""

    arc: Floats
    slope: Floats
    envelope: Floats
    facts: BatchFacts
    told: tuple[Told, ...]


@dataclass(frozen=True)
class AskedBell:
    """A bell asked about: `mandrel`, `conditions`, the `words` once for each place where drawing may have stopped, and
    what each structure expects there, unknown by unknown."""

    mandrel: Meridian
    conditions: Conditions
    words: tuple[Words, ...]
    expected: tuple[tuple[Expected, ...], ...]


@dataclass(frozen=True)
class Together:
    """Words mixed: the `mixture` of the middle ones, `gap` (n,) [mm] without any swelling, variances of shape (n,) and
    place [mm^2], and the gap's standard deviation as `told_sd` and `held_sd` within the elastic envelope (n,) [mm]."""

    mixture: Told
    gap: Floats
    shape_variance: Floats
    place_variance: float
    told_sd: Floats
    held_sd: Floats


def freedom_of(batches: int) -> float:
    """Degrees of freedom of Student's t for bands learned from `batches`: that many less the two that a spread costs.

    Below five batches they go from 3 down to 2, for one batch tells nothing of how batches differ; without any,
    where the band is the elastic envelope, 3.
    """
    return max(batches - 2.0, 2.0 + (batches - 1.0) / 3.0) if batches else 3.0


@dataclass(frozen=True)
class SpringModel:
    """A shop's springback. Its `hand` lays sheet; `structures` fitted over the unknowns of `layout`, mixed as `known`
    mandrels and `new` ones ask for; `steel` profiles of its mandrels by id for telling a draft of a known mandrel;
    `coverage` of experience; `set_aside` what nothing was learned from."""

    version: str
    book_digest: str
    units: str
    hand: Hand
    layout: Layout
    structures: tuple[FittedStructure, ...]
    known: Bands
    new: Bands
    noise_scale: Mapping[str, float]
    hump: BackPassHump
    batches: tuple[KnownBatch, ...]
    steel: Mapping[str, Meridian]
    coverage: Coverage
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

    @property
    def lead(self) -> FittedStructure:
        """The structure with the largest weight on mandrels in the records."""
        return self.structures[int(np.argmax(self.known.shape.weights))]

    def gap(self, mandrel: Meridian, conditions: Conditions, *, stage: str = "trimmed") -> GapForecast:
        """Forecast of the bell that `mandrel` gives under `conditions` at `stage` (spun, trimmed).

        The gap includes the remainder that bells of the same mandrel showed beyond the shell (`remainder`).
        Raises UnknownAlloyError for an alloy that is not in the table.
        """
        return self.stated(mandrel, conditions, self.words(mandrel, conditions, stage=stage))

    def words(self, mandrel: Meridian, conditions: Conditions, *, stage: str) -> tuple[Words, ...]:
        """What the structures say of a bell, once for each place where drawing may have stopped."""
        return self.asked(mandrel, conditions, stage=stage).words

    def asked(
        self, mandrel: Meridian, conditions: Conditions, *, stage: str = "trimmed", laid_on: Meridian | None = None
    ) -> AskedBell:
        """The same with all that is not known, for comparing bells with one another; `laid_on` as in `asked_steel`."""
        return self.heard(asked_steel(mandrel, conditions, self.hand, stage=stage, laid_on=laid_on))

    def heard(self, steel: AskedSteel) -> AskedBell:
        """What the structures say of a bell whose physics is worked out."""
        mandrel, conditions = steel.mandrel, steel.conditions
        facts = batch_facts(self.mandrel_like(mandrel) or "", conditions)
        expected = tuple(
            tuple(each.expected(self.layout, facts, basis, mandrel.length) for each in self.structures)
            for basis in steel.bases
        )
        words = tuple(
            Words(basis.arc, basis.slope, envelope, facts, tuple(told.told for told in each))
            for basis, envelope, each in zip(steel.bases, steel.envelopes, expected, strict=True)
        )
        return AskedBell(mandrel, conditions, words, expected)

    def together(self, words: Sequence[Words]) -> Together:
        """The words mixed and widened as left-out forecasts ask, within the elastic envelope."""
        middle = len(words) // 2
        sine, known = np.sin(words[middle].slope), words[middle].facts.mandrel_id in self.layout.mandrels
        mixtures = [mixed(one.told, self.known if known else self.new) for one in words]
        gaps = [one.shape - one.place * sine for one in mixtures]
        shape_variance = np.max([one.shape_variance for one in mixtures], axis=0)
        place_variance = max(one.place_variance for one in mixtures)
        gap, apart = gaps[middle], np.var(gaps, axis=0)
        told_sd = np.sqrt(shape_variance + place_variance * sine**2 + apart)
        widest = (np.max([one.envelope for one in words], axis=0) + np.abs(gap)) / BAND_90
        held_sd = np.minimum(told_sd, widest) if self.batches else widest
        return Together(mixtures[middle], gap, shape_variance, place_variance, told_sd, held_sd)

    def stated(self, mandrel: Meridian, conditions: Conditions, words: Sequence[Words]) -> GapForecast:
        """The forecast that is stated when the structures say `words`, with the swelling of passes toward the tail."""
        middle, one = words[len(words) // 2], self.together(words)
        hump, hump_sd = self.swelling(mandrel, conditions, middle.arc)
        mean_sd = np.hypot(one.held_sd, hump_sd)
        trust, notes = trust_of(self.coverage, mandrel.at(middle.arc), middle.facts)
        if len(words) > 1:
            notes = (*notes, CoverageNote("draw_end_blank"))
        return GapForecast(
            middle.arc, one.gap + hump, mean_sd, np.sqrt(mean_sd**2 + one.mixture.bell_variance),
            np.sqrt(one.shape_variance), one.mixture.place, float(np.sqrt(one.place_variance)), one.mixture.axial,
            self.freedom, trust, notes,
        )  # fmt: skip

    def remainder(self, mandrel: Meridian) -> tuple[Floats, Floats, Floats]:
        """Arc stations (n,), and mean and sd [mm] there of what bells of this mandrel showed beyond the shell; zeros
        for a mandrel never met."""
        arc = np.linspace(0.0, mandrel.length, 200)
        name = self.mandrel_like(mandrel)
        if name not in self.layout.mandrels:
            return arc, np.zeros_like(arc), np.zeros_like(arc)
        columns = remainder_columns(arc, mandrel.at(arc).slope, float(arc[-1]))
        each = [one.remainder(self.layout, name, columns) for one in self.structures]
        means, variances = (np.array(values) for values in zip(*each, strict=True))
        weights = np.array(self.known.shape.weights)
        mean = weights @ means
        return arc, mean, np.sqrt(weights @ (variances + (means - mean) ** 2))

    def mandrel_like(self, mandrel: Meridian) -> str | None:
        """The recorded mandrel of which `mandrel` is a revision or a draft: the nearest within `SAME_STEEL_MM`."""
        best, nearest = None, SAME_STEEL_MM
        for name, steel in self.steel.items():
            if abs(steel.z[-1] - mandrel.z[-1]) > SAME_LENGTH * mandrel.z[-1]:
                continue
            common = np.linspace(0.0, min(steel.length, mandrel.length), 60)
            one, other = steel.at(common), mandrel.at(common)
            apart = np.abs(-(one.z - other.z) * np.sin(other.slope) + (one.r - other.r) * np.cos(other.slope))
            if apart.max() < nearest:
                best, nearest = name, float(apart.max())
        return best

    def swelling(self, mandrel: Meridian, conditions: Conditions, arc: Floats) -> tuple[Floats, Floats]:
        """What the asked passes toward the tail leave, mean and sd (n,) [mm]; blank passes widen the band."""
        if conditions.back_passes == 0:
            return np.zeros_like(arc), np.zeros_like(arc)
        passed = 1.0 if conditions.back_passes else PASSED_WHERE_BLANK
        return self.hump.gap(arc - draw_end_arc(mandrel, conditions), passed)
