"""A shop's model as a correction asks it: its forecasts, and what the bells of one mandrel have shown.

A correction asks three things of whatever has learned a shop, and `ShopModel` names them, so that a decision can also
be tried on a forecast whose right answer is known, and on another learner than `SpringModel`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Protocol

from springfit.decisions.evidence import Fault, LeftOut, MandrelEvidence, no_evidence
from springfit.decisions.forecast import Forecast, forecast
from springfit.geometry.meridian import Meridian
from springfit.learning.faults.fault_search import LocalFault
from springfit.learning.model import KnownBatch, SpringModel
from springfit.records.conditions import Conditions

__all__ = ["LearnedShop", "ShopModel"]

NEWEST = 2  # batches that show how the shop works now: a habit given up long ago is no reason to stop
APART_MM = 40.0  # faults nearer than this along the bell are one fault; a swelling is two inches long


class ShopModel(Protocol):
    """What has learned a shop, as a correction asks it."""

    @property
    def version(self) -> str:
        """Name of the trained version, for the footer of every report."""

    def forecast(self, mandrel: Meridian, conditions: Conditions, *, laid_on: Meridian | None = None) -> Forecast:
        """The trimmed bell of any mandrel under stated conditions. `laid_on`: the steel that `mandrel` is a cut of, for
        which what laying locks in is worked out already."""

    def evidence(self, mandrel_id: str, revision: int, mandrel: Meridian) -> MandrelEvidence:
        """What the bells of one mandrel revision have shown; its stations are arcs of `mandrel`."""


@dataclass(frozen=True)
class LearnedShop:
    """A trained model as a `ShopModel`."""

    model: SpringModel

    @property
    def version(self) -> str:
        """Name of the trained version."""
        return self.model.version

    def forecast(self, mandrel: Meridian, conditions: Conditions, *, laid_on: Meridian | None = None) -> Forecast:
        """The trimmed bell of any mandrel, with what the bells of that very mandrel showed beyond the shell."""
        return forecast(self.model, mandrel, conditions, laid_on=laid_on)

    def evidence(self, mandrel_id: str, revision: int, mandrel: Meridian) -> MandrelEvidence:
        """What the bells of a mandrel's revision have shown. Every revision of one mandrel tells of the springback;
        only the newest batches tell of faults."""
        known = [batch for batch in self.model.batches if batch.mandrel_id == mandrel_id]
        if not known:
            return replace(no_evidence(), left_out=_left_out_of(self.model, known))
        known.sort(key=lambda batch: batch.spun_on)
        arc, mean, sd = self.model.remainder(mandrel)
        own = [batch for batch in known if batch.revision == revision]
        return MandrelEvidence(
            batches=len(known),
            bells=sum(batch.bells for batch in known),
            scatter_mm=self._scatter(known),
            scatter_freedom=self.model.freedom,
            faults=_faults(self.model.faults, known[-NEWEST:]),
            s_mm=arc,
            unexplained_mm=mean,
            unexplained_sd_mm=sd,
            in_forecast=True,
            latest_batches=tuple(batch.batch_id for batch in known[-NEWEST:]),
            left_out_mm=self._left_out(),
            unmeasured_revision=None if own else revision,
            left_out=_left_out_of(self.model, known),
        )

    def _left_out(self) -> tuple[float, float]:
        """Left-out errors of batches and of mandrels [mm], as the last validation found them."""
        told = self.model.validation
        batches, mandrels = (
            told.get(f"left_out_{kind}", {}).get("rms_mm", float("nan")) for kind in ("batches", "mandrels")
        )
        return float(batches), float(mandrels)

    def _scatter(self, known: list[KnownBatch]) -> float:
        """One sd [mm] between batch means where the gap is largest: the batches' own multiplier times that gap."""
        return self.model.lead.spreads["batch_hoop"] * sum(batch.largest_gap for batch in known) / len(known)


def _left_out_of(model: SpringModel, known: list[KnownBatch]) -> tuple[LeftOut, ...]:
    """Bells set aside, and stretches of bells that a fault has swollen; where a fault drew a bell in it is counted all
    the same, for that bell speaks against a cut. Where most of a batch is like nothing that was learned, it is the
    batch and not an odd bell: bells come before theory."""
    learned = {batch.batch_id: batch.bells for batch in known}
    stretches = [fault for fault in model.faults if not fault.whole]
    strange = {fault.bell_id: fault.batch_id for fault in model.faults if fault.whole}
    counts = Counter(strange.values())
    odd = {bell for bell, batch in strange.items() if counts[batch] <= learned.get(batch, 0)}
    doubted = {one.bell_id for one in model.set_aside} - strange.keys() - {fault.bell_id for fault in stretches}
    whole = tuple(LeftOut(bell) for bell in sorted(odd | doubted))
    swollen = tuple(LeftOut(f.bell_id, f.arc_from, f.arc_to) for f in stretches if f.size > 0)
    return (*whole, *swollen)


def _faults(faults: Iterable[LocalFault], newest: list[KnownBatch]) -> tuple[Fault, ...]:
    """Faults of the newest batches, those at one place put together."""
    batches = {batch.batch_id for batch in newest}
    seen = sum(batch.bells for batch in newest)
    groups: list[list[LocalFault]] = []
    for fault in sorted((f for f in faults if f.batch_id in batches and f.swelling), key=_middle):
        if groups and _middle(fault) - _middle(groups[-1][-1]) < APART_MM:
            groups[-1].append(fault)
        else:
            groups.append([fault])
    return tuple(_fault(group, seen) for group in groups)


def _fault(group: list[LocalFault], seen: int) -> Fault:
    bells = tuple(dict.fromkeys(fault.bell_id for fault in group))
    sizes = sorted(fault.size for fault in group)
    return Fault(
        bells=bells,
        bells_seen=max(seen, len(bells)),
        s_from_mm=min(fault.arc_from for fault in group),
        s_to_mm=max(fault.arc_to for fault in group),
        size_mm=sizes[len(sizes) // 2],
    )


def _middle(fault: LocalFault) -> float:
    return (fault.arc_from + fault.arc_to) / 2
