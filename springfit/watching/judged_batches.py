"""One batch judged: its bells searched for faults one by one, then its zones and the batch as a whole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.facets.finder import Facet
from springfit.learning.data.observations import Bell
from springfit.learning.experience import Experience
from springfit.learning.model import SpringModel
from springfit.learning.regression.summaries import SEATS
from springfit.watching.batches.batch_size import BatchSize, batch_size
from springfit.watching.batches.bell_zones import ZONES, zones_of
from springfit.watching.batches.known_before import KnownBefore
from springfit.watching.batches.local_places import LocalPlaces, facet_places, local_places
from springfit.watching.batches.predictive import BellRows, Predictive, predictive_of
from springfit.watching.batches.steel_line import SteelLine
from springfit.watching.batches.zone_scores import ZoneScore, zone_scores
from springfit.watching.charts.control_chart import LEAST_EARLIER
from springfit.watching.signatures.bell_faults import SearchedBell, alike, searched
from springfit.watching.signatures.naming import Named, named_in
from springfit.watching.signatures.patterns import Readings

__all__ = ["BellCurve", "JudgedBatch", "judged_batch"]

Floats = NDArray[np.float64]
Facets = tuple[Facet, ...]

LOCAL = ("throat_hump", "swelling", "dent", "reading_slip", "facet_washed_out", "facet_lifted", "worn_facet")
OVER_FACET = ("facet_lifted", "facet_washed_out")
BESIDE_MM = 8.0  # of arc within which a bell's readings are drawn as one point: swellings and facets are thrice as long


@dataclass(frozen=True)
class BellCurve:
    """What is drawn of a bell, (n,) [mm]: `arc` and `gap` of its readings of places, its seat and wall taken out as
    far as they are known, and the gap `expected` there with 1 sd of what was not known of its batch."""

    bell_id: str
    arc: Floats
    gap: Floats
    expected: Floats
    sd: Floats


@dataclass(frozen=True)
class JudgedBatch:
    """A batch beside what was known before it: `earlier` batches that rests on and the version that said it (empty:
    solved again), `zones` as scored, faults `named`, the `curves` of its bells drawn, single `places` all along and
    `facet_places`, the line of its `steel`, and the `size` of all its springback."""

    batch_id: str
    mandrel_id: str
    revision: int
    spun_on: str
    earlier: int
    said_by: str
    zones: tuple[ZoneScore, ...]
    named: tuple[Named, ...]
    bells: tuple[str, ...]
    curves: tuple[BellCurve, ...]
    places: LocalPlaces | None
    rim_arc: float
    steel: SteelLine
    size: BatchSize | None
    facet_places: LocalPlaces | None = None


def judged_batch(
    made: Experience, bells: Sequence[Bell], known: KnownBefore, model: SpringModel, facets: Facets
) -> JudgedBatch:
    """The batch of `bells` (all that were read, faulty ones too) judged by what was `known` before it; `facets` of the
    steel."""
    batch = bells[0].batch_id
    judge = _Judge(made, batch, known, model, SteelLine.of(made.meridian(batch), facets))
    whole = judge.predictive(bells)
    named: list[Named] = []
    kept: list[Bell] = []
    for one, left in zip(whole.bells, _searched(whole, judge.draw_end), strict=True):
        found = [judge.explained(fault, one.bell) for fault in left.named]
        # A bell off its seat reads wrong everywhere: its worst reading is no slip of its own.
        seated = not any(fault.name == "off_seat" for fault in found)
        named += [judge.placed(fault) for fault in found if seated or fault.name != "reading_slip"]
        if left.sound is not None:
            kept.append(left.sound)
    zones: tuple[ZoneScore, ...] = ()
    places, of_facets, rest, size = None, None, None, None
    if kept:
        rest = judge.predictive(kept)
        zone = np.concatenate([judge.zones(bell.arc, bell.slope) for bell in kept])
        zones, size = zone_scores(rest, zone), batch_size(rest)
        places, of_facets = local_places(rest), facet_places(rest, facets)
        if known.batches >= LEAST_EARLIER:
            named += [judge.placed(fault) for fault in judge.whole_faults(rest, size)]
    return JudgedBatch(
        batch, made.facts[batch].mandrel_id, made.revision[batch], made.spun_on[batch], known.batches, known.said_by,
        zones, tuple(named), tuple(bell.bell_id for bell in bells), _curves(whole, rest),
        places, float(made.measured_bases[batch].arc[-1]), judge.line, size, of_facets,
    )  # fmt: skip


def _searched(whole: Predictive, draw_end: float) -> list[SearchedBell]:
    """The bells of a batch searched one by one; once more where several of them stand out alike, which is the steel."""
    bells = [(one, whole.factor[whole.part(index)]) for index, one in enumerate(whole.bells)]
    left = [searched(*one, draw_end) for one in bells]
    steel = alike(left)
    return [searched(*one, draw_end, steel) for one in bells] if steel.size else left


@dataclass(frozen=True)
class _Judge:
    """One batch of what was read (`made`), what was `known` before it, and the `line` of its steel."""

    made: Experience
    batch: str
    known: KnownBefore
    model: SpringModel
    line: SteelLine

    @property
    def draw_end(self) -> float:
        """Arc [mm] where drawing stopped."""
        return self.made.draw_end_arc(self.batch)

    def predictive(self, bells: Sequence[Bell]) -> Predictive:
        """Some bells of the batch beside what was known."""
        facts = self.made.facts[self.batch]
        return predictive_of(self.batch, bells, self.known, facts, self.made.columns, self.model.noise_scale)

    def zones(self, arc: Floats, slope: Floats) -> NDArray[np.intp]:
        """The zone of each place (n,)."""
        return zones_of(arc, slope, self.draw_end, self.line.stretches)

    def whole_faults(self, rest: Predictive, size: BatchSize | None) -> list[Named]:
        """The fault that the batch shows as a whole, and those that single bells show beside it."""
        of_all = named_in(rest, self._readings(rest), size=size) if len(rest.bells) > 1 else None
        found = [of_all] if of_all else []
        for one in rest.bells:
            shown = self._shown_by(one.bell)
            if shown and not (of_all and _said_by(of_all, shown)):
                found.append(shown)
        return found

    def explained(self, fault: Named, bell: Bell) -> Named:
        """A bell that nothing explained, asked whether a seat, a gauge, a wall would; other faults as they are."""
        if fault.name != "stranger" or self.known.batches < LEAST_EARLIER:
            return fault
        return self._shown_by(bell) or fault

    def placed(self, fault: Named) -> Named:
        """The fault with the zone that its middle lies in, where it is of one stretch. A swelling over a facet is metal
        lifted off it, or the facet washed out."""
        if fault.name not in LOCAL:
            return fault
        middle = np.clip(np.array([sum(fault.at) / 2.0]), 0.0, self.line.length)
        zone = ZONES[int(self.zones(middle, self.made.meridian(self.batch).at(middle).slope)[0])]
        if fault.name == "swelling" and zone == "facets":
            return replace(fault, name=OVER_FACET[0], group=OVER_FACET, zone=zone)
        return replace(fault, zone=zone)

    def _shown_by(self, bell: Bell) -> Named | None:
        alone = self.predictive([bell])
        return named_in(alone, self._readings(alone), bell_id=bell.bell_id)

    def _readings(self, predictive: Predictive) -> Readings:
        steel, bells = self.made.meridian(self.batch), [one.bell for one in predictive.bells]
        points = steel.at(np.clip(np.concatenate([bell.arc for bell in bells]), 0.0, steel.length))
        rim = float(self.made.measured_bases[self.batch].arc[-1])
        # Steel is under all bells of a batch, and one alone does not tell of it; and what bells keep of a facet is told
        # by bells of it: until those came, what is not forecast is not yet wear.
        worn = self.line.facets if len(bells) > 1 and self._taught >= LEAST_EARLIER else ()
        return Readings(
            bells, predictive.multiplier, rim, steel.length, self.draw_end, points.z, points.r, self.line.facets, worn
        )

    @property
    def _taught(self) -> int:
        """Earlier batches of this mandrel."""
        mandrel = self.made.facts[self.batch].mandrel_id
        return sum(one.mandrel_id == mandrel for one in self.known.layout.facts.values())


def _said_by(of_all: Named, shown: Named) -> bool:
    """Whether what one bell shows is what the batch does. Of one facet the batch says more than a bell: where the steel
    is worn every bell lacks some of it."""
    return bool(set(shown.group) & set(of_all.group)) or (shown.name in OVER_FACET and shown.at == of_all.at)


def _curves(whole: Predictive, rest: Predictive | None) -> tuple[BellCurve, ...]:
    """Every bell's readings of places with what its own seat and wall did taken off, as its sound readings tell them: a
    swelling read as a seat would bend the whole bell."""
    own = {one.bell.bell_id: unknowns for said in (whole, rest) if said for one, unknowns in _own_unknowns(said)}
    curves = []
    for index, one in enumerate(whole.bells):
        part, placed = whole.part(index), one.bell.springs > 0
        seats = slice(0, SEATS + 1)
        gap = one.expected + one.rest - one.local[:, seats] @ own[one.bell.bell_id][seats]
        sd = np.linalg.norm(whole.factor[part], axis=1)
        station = np.floor(one.bell.arc[placed] / BESIDE_MM).astype(int)
        weight = 1.0 / one.noise[placed]
        drawn = (_merged(values[placed], weight, station) for values in (one.bell.arc, gap, one.expected, sd))
        curves.append(BellCurve(one.bell.bell_id, *drawn))
    return tuple(curves)


def _own_unknowns(said: Predictive) -> list[tuple[BellRows, Floats]]:
    """Each bell with the likeliest values of its own unknowns, in standard deviations."""
    pull = said.solve(said.rest[:, None])[:, 0]
    return [(one, one.local.T @ pull[said.part(index)]) for index, one in enumerate(said.bells)]


def _merged(values: Floats, weight: Floats, station: NDArray[np.intp]) -> Floats:
    """Weighted mean by station, in order of the stations."""
    _, which = np.unique(station, return_inverse=True)
    return np.asarray(np.bincount(which, weights=weight * values) / np.bincount(which, weights=weight))
