"""What the bells already spun on one mandrel say, as far as a decision about its steel needs it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from springfit.decisions.unlearned import ALL_LEARNED, Unlearned
from springfit.geometry.points import FloatArray

__all__ = ["Fault", "LeftOut", "MandrelEvidence", "no_evidence"]


FEWEST_FAULTY = 2  # bells: one odd bell is a bell, two of a kind are a habit of the process
SMALLEST_SHARE = 0.15  # of the bells looked at; one in seven: rarer ones are no habit; assumed


@dataclass(frozen=True)
class Fault:
    """A swelling or dent in some bells that elastic springback cannot make, such as a back-pass hump.

    bells: ids of the bells that show it, out of `bells_seen` looked at. s_from_mm, s_to_mm: the stretch of mandrel
    arc it covers. size_mm: largest normal size beyond the forecast per side, + outward (swollen, else drawn in),
    typical of the bells that show it.
    """

    bells: tuple[str, ...]
    bells_seen: int
    s_from_mm: float
    s_to_mm: float
    size_mm: float

    @property
    def share(self) -> float:
        """Part of the bells looked at that show the fault, 0 to 1."""
        return len(self.bells) / self.bells_seen if self.bells_seen else 0.0

    @property
    def is_habit(self) -> bool:
        """Whether it is the process, not one odd bell: at least two bells and 15 % of those looked at."""
        return len(self.bells) >= FEWEST_FAULTY and self.share >= SMALLEST_SHARE


@dataclass(frozen=True)
class LeftOut:
    """A bell, between two arcs [mm], that says nothing of springback there: all of it unless stated."""

    bell_id: str
    s_from_mm: float = 0.0
    s_to_mm: float = float("inf")


@dataclass(frozen=True)
class MandrelEvidence:
    """The state of knowledge about one mandrel revision.

    batches, bells: how many were used in learning from this mandrel, all revisions (bells set aside are not counted).
    scatter_mm: one standard deviation between batch means of the gap, per side, at the flare where the
    forecast gap is largest; NaN when unknown. It is taken to shrink inboard as the forecast gap does.
    scatter_freedom: how many degrees of freedom that figure has (batches - 1 when from this mandrel alone).
    faults: what springback cannot do. s_mm, unexplained_mm, unexplained_sd_mm: stations from the tail [mm of
    mandrel arc], the lasting part of what sound bells showed beyond the forecast (shrunk toward zero as far
    as it is uncertain, + when the bells are larger than forecast) and its own standard deviation. Faulty
    bells must not be in it. latest_batches: ids of the newest measured batches, newest last.
    unmeasured_revision: the revision asked about, when bells of others were measured and no sound one of it.
    discontinued: faults of a way of working that the shop has given up, held against nothing.
    in_forecast: the forecast's gap and band already hold the unexplained part, which is then named
    apart from springback but not added once more. left_out_mm: rms error over the flare with which
    batches, and whole mandrels, that were left out of learning were forecast; NaN where none could be.
    unlearned: measured batches that the forecast has not learned, those of this mandrel first.
    left_out: bells of this mandrel that are not of this steel as written, and stretches that a fault has swollen.
    """

    batches: int
    bells: int
    scatter_mm: float
    scatter_freedom: float
    faults: tuple[Fault, ...]
    s_mm: FloatArray
    unexplained_mm: FloatArray
    unexplained_sd_mm: FloatArray
    latest_batches: tuple[str, ...] = ()
    unmeasured_revision: int | None = None
    discontinued: tuple[Fault, ...] = ()
    in_forecast: bool = False
    left_out_mm: tuple[float, float] = (float("nan"), float("nan"))
    left_out: tuple[LeftOut, ...] = ()
    unlearned: Unlearned = ALL_LEARNED

    def unexplained_at(self, s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Mean and standard deviation [mm] of the unexplained part at arc lengths `s` [mm].

        Past the stations the nearest value holds: a band must not close where nothing was measured.
        """
        if self.s_mm.size == 0:
            return np.zeros_like(s), np.zeros_like(s)
        mean = np.interp(s, self.s_mm, self.unexplained_mm)
        return mean, np.interp(s, self.s_mm, self.unexplained_sd_mm)

    @property
    def habits(self) -> tuple[Fault, ...]:
        """The faults common enough to be the process."""
        return tuple(fault for fault in self.faults if fault.is_habit)


def no_evidence() -> MandrelEvidence:
    """The evidence of a mandrel on which nothing has been measured yet."""
    nothing = np.zeros(0)
    return MandrelEvidence(0, 0, float("nan"), 0.0, (), nothing, nothing, nothing)
