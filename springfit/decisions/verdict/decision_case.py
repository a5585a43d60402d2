"""A case to be decided and the decision reached: what every question asks of, and what it answers with."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from springfit.decisions.bells.bell_support import BellSupport
from springfit.decisions.evidence import MandrelEvidence
from springfit.decisions.need.inverse import Inverse
from springfit.decisions.need.masking import Masks
from springfit.decisions.need.split import ErrorSplit
from springfit.decisions.verdict.cautious import cost_quantile
from springfit.decisions.verdict.chances import SURE, chance_out
from springfit.decisions.verdict.reasons import Reason
from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray

__all__ = ["Case", "Decision", "Verdict", "keep_steel", "largest_error"]

# Of one mandrel from which their bells know a need by themselves: a bell in the hand is surer than a forecast, but two
# batches show no more of how batches differ than one difference; assumed.
ALIKE_BATCHES = 3


@dataclass(frozen=True)
class Verdict:
    """What to do and why. Lengths per side [mm], places as z on the present mandrel [mm].

    verdict: leave, slide, process, wait, recut or new_flare. slide_mm: how far the bell's whole shape is
    moved along the axis to stand where the target wants it, + toward the rim. chance_out_before,
    chance_out_after: of the next batch's mean being out of tolerance at its worst row, as things are and
    when the verdict is followed; chance_out_scatter: the same were the lasting mean right at every row, which is what
    batches scatter by and no steel can mend.
    """

    verdict: str
    reason: Reason
    slide_mm: float
    largest_error_mm: float
    largest_error_at_mm: float
    largest_cut_mm: float
    largest_cut_at_mm: float
    chance_out_before: float
    chance_out_after: float
    more_batches: int | None
    chance_out_scatter: float = float("nan")


@dataclass(frozen=True)
class Case:
    """Everything a verdict is reached from, on the stations of the present mandrel.

    ceiling_mm: (n,) a cut never to be passed [mm] because the conditions have blanks, `unwritten` their columns.
    bells: what the mandrel's own bells support, None where none were asked. trusted: (n,) rows among recorded bells,
    which alone are cut where the mandrel has no bells of its own; None: all of them.
    """

    mandrel: Meridian
    inverse: Inverse
    split: ErrorSplit
    masks: Masks
    evidence: MandrelEvidence
    tolerance_mm: float
    slide_allowance_mm: float
    cost_ratio: float
    ceiling_mm: FloatArray | None = None
    unwritten: tuple[str, ...] = ()
    bells: BellSupport | None = None
    trusted: NDArray[np.bool_] | None = None

    @property
    def open(self) -> NDArray[np.bool_]:
        """Rows that are judged: unmasked, with a bell and a target."""
        return self.masks.open & np.isfinite(self.split.error)

    @property
    def known(self) -> NDArray[np.bool_]:
        """The judged rows and those under a process fault, whose springback is known though nothing is cut there: where
        the bell is to stand along the axis must not hang on a fault."""
        return ~self.masks.but_for_faults & np.isfinite(self.split.error)

    @property
    def unread(self) -> bool:
        """Whether no bell of this mandrel was ever read: no steel is judged by mechanics, nor by other mandrels'."""
        return self.evidence.batches == 0 or (self.bells is not None and self.bells.measured == 0)

    @property
    def cuttable(self) -> NDArray[np.bool_]:
        """Judged rows where something surer than the forecast stands behind a cut: bells of this mandrel read there, or
        without any bells of all mandrels alike, and before the place from which the wanted line cannot be turned. A cut
        may run out at the tail in rows that are not judged."""
        rows = (self.open | (self.masks.unread & ~self.masks.nose & ~self.masks.no_data)) & self.inverse.turnable
        if self.bells is not None and self.bells.speaks:
            return rows & self.bells.read
        return rows if self.trusted is None else rows & self.trusted

    def bells_allow(self, move: float, *, more: int = 0) -> FloatArray:
        """Removal (n,) [mm per side] that the bells support when the wanted line is moved by `move` [mm] toward the
        rim, with `more` batches alike; unbounded without bells of its own, below nought where they speak against."""
        if self.bells is None or not self.bells.speaks:
            return np.full(self.mandrel.s.size, np.inf)
        return self.bells.after(more).lower(self.quantile) + move * np.sin(self.mandrel.slope)

    @property
    def quantile(self) -> float:
        """Probability with which the true need must exceed a cut."""
        return cost_quantile(self.cost_ratio)

    def known_to(self, need_sd: FloatArray, *, more: int = 0) -> FloatArray:
        """The standard deviation (n,) [mm], as one of Student's t with the forecast's freedom, that the need is known
        to: the forecast's `need_sd`, or that of the mandrel's own bells where enough batches of them are surer. With
        `more` batches alike beside those seen."""
        if self.bells is None or not self.bells.speaks or self.bells.batches + more < ALIKE_BATCHES:
            return need_sd
        bells = self.bells.after(more)
        wider = student.ppf(SURE, bells.freedom) / student.ppf(SURE, self.split.degrees_of_freedom)
        return np.where(bells.read, np.minimum(need_sd, wider * bells.sd), need_sd)

    @property
    def margin(self) -> FloatArray:
        """Steel left on for caution [mm per side], (n,): the need surely exceeds its estimate less this."""
        sd = self.known_to(self.split.need_sd)
        return float(student.ppf(self.quantile, self.split.degrees_of_freedom)) * sd


@dataclass(frozen=True)
class Decision:
    """A verdict with its cut: cut_mm to take now, most_mm never to pass, (n,) [mm per side]; sure_mm: how much of a
    removal is sure at each row, by the forecast and by the bells, with the probability that the costs ask for; below
    nought where not even none is."""

    verdict: Verdict
    cut_mm: FloatArray
    most_mm: FloatArray
    sure_mm: FloatArray


def keep_steel(
    case: Case, word: str, reason: Reason, *, slide: float = 0.0, more: int | None = None
) -> Decision:
    """A verdict that leaves the steel as it is."""
    rows, split = case.open, case.split
    error, at = largest_error(case)
    freedom, tolerance = split.degrees_of_freedom, case.tolerance_mm
    before = chance_out(split.error[rows], split.error_sd[rows], tolerance, freedom)
    moved = split.error - slide * np.sin(case.mandrel.slope)
    after = chance_out(moved[rows], split.error_sd[rows], tolerance, freedom) if slide else before
    nothing = np.zeros(case.mandrel.s.size)
    verdict = Verdict(word, reason, slide, error, at, 0.0, float("nan"), before, after, more, _of_scatter(case))
    sure = np.minimum(split.error - case.margin, case.bells_allow(0.0)) - slide * np.sin(case.mandrel.slope)
    return Decision(verdict, nothing, nothing, sure)


def _of_scatter(case: Case) -> float:
    """Chance that a batch's mean is out of tolerance by the scatter of batches alone, at the worst judged row."""
    split = case.split
    scatter = np.sqrt(np.maximum(split.error_sd**2 - split.need_sd**2, 0.0))[case.open]
    return chance_out(np.zeros(scatter.size), scatter, case.tolerance_mm, split.degrees_of_freedom)


def largest_error(case: Case) -> tuple[float, float]:
    """The open row's error that is largest either way, and its z [mm]; (0, NaN) when none is open."""
    if not case.open.any():
        return 0.0, float("nan")
    row = int(np.argmax(np.where(case.open, np.abs(case.split.error), -1.0)))
    return float(case.split.error[row]), float(case.mandrel.z[row])
