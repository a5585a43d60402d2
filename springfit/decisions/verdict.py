"""The decision about a mandrel's steel, asked in one fixed order.

Is there anything to judge by? Is it beyond what springback can do, or scattered more than it is off
(process)? Is it within tolerance (leave)? Does a slide explain it (slide)? Would steel have to be added (a
move of the whole flare, else a new one)? Is the sure part of the removal worth cutting (recut), would more
batches make it so (wait), or not (leave)? Every question is one function here; the first that answers
decides.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from springfit.decisions.axial import explaining_slide, move_to_remove, removal_after_move, sparing_slide
from springfit.decisions.cautious import WORTHWHILE_MM, cautious_cut, cost_quantile
from springfit.decisions.chances import (
    MOST_BATCHES,
    batches_to_settle,
    chance_below,
    chance_out,
    least_scatter,
)
from springfit.decisions.evidence import Fault, MandrelEvidence
from springfit.decisions.inverse import Inverse
from springfit.decisions.masking import Masks
from springfit.decisions.reasons import Voice
from springfit.decisions.split import ErrorSplit
from springfit.geometry.meridian import Meridian

__all__ = ["Case", "Decision", "Verdict", "decide"]

FloatArray = NDArray[np.float64]

FIRST_BATCHES = 2  # the fewest that show a scatter at all
SCATTER_BATCHES = 4  # with fewer, a large scatter may be one odd batch: wait for more instead of blaming
LACKING_CHANCE = 0.8  # a flare is not thrown away on an even chance


@dataclass(frozen=True)
class Verdict:
    """What to do and why. Lengths per side [mm], places as z on the present mandrel [mm].

    verdict: leave, slide, process, wait, recut or new_flare. slide_mm: how far the bell's whole shape is
    moved along the axis to stand where the target wants it, + toward the rim. chance_out_before,
    chance_out_after: of the next batch's mean being out of tolerance at its worst row, as things are and
    when the verdict is followed.
    """

    verdict: str
    reason: str
    slide_mm: float
    largest_error_mm: float
    largest_error_at_mm: float
    largest_cut_mm: float
    largest_cut_at_mm: float
    chance_out_before: float
    chance_out_after: float
    more_batches: int | None


@dataclass(frozen=True)
class Case:
    """Everything a verdict is reached from, on the stations of the present mandrel."""

    mandrel: Meridian
    inverse: Inverse
    split: ErrorSplit
    masks: Masks
    evidence: MandrelEvidence
    tolerance_mm: float
    slide_allowance_mm: float
    cost_ratio: float
    units: str

    @property
    def open(self) -> NDArray[np.bool_]:
        """Rows that are judged: unmasked, with a bell and a target."""
        return self.masks.open & np.isfinite(self.split.error)

    @property
    def quantile(self) -> float:
        """Probability with which the true need must exceed a cut."""
        return cost_quantile(self.cost_ratio)


@dataclass(frozen=True)
class Decision:
    """A verdict with its cut: cut_mm to take now, most_mm never to pass, (n,) [mm per side]."""

    verdict: Verdict
    cut_mm: FloatArray
    most_mm: FloatArray


def decide(case: Case) -> Decision:
    """Ask the questions in order; a process fault keeps the cut of the rows it does not touch."""
    for question in (_fit_to_use, _scattered, _within, _slide_explains, _lacking, _removal):
        decision = question(case)
        if decision is not None:
            break
    else:
        raise AssertionError("the last question always answers")
    habits = [fault for fault in case.evidence.habits if abs(fault.size_mm) > case.tolerance_mm]
    return _with_fault(case, decision, max(habits, key=lambda f: abs(f.size_mm))) if habits else decision


def _fit_to_use(case: Case) -> Decision | None:
    voice = Voice(case.units)
    if not case.open.any():
        return _keep(case, "wait", voice.nothing_to_judge())
    if not case.inverse.closed:
        left = float(np.nanmax(np.abs(np.where(case.open, case.inverse.error_mm, 0.0))))
        return _keep(case, "leave", voice.unsolved(left))
    if case.evidence.batches == 0:
        return _keep(case, "wait", voice.unmeasured(FIRST_BATCHES), more=FIRST_BATCHES)
    return None


def _scattered(case: Case) -> Decision | None:
    least = least_scatter(case.evidence.scatter_mm, case.evidence.scatter_freedom)
    error, _ = _largest(case, case.split.error)
    if case.evidence.batches < SCATTER_BATCHES or not least > max(abs(error), case.tolerance_mm):
        return None
    return _keep(case, "process", Voice(case.units).scattered(least, error, case.evidence.batches))


def _within(case: Case) -> Decision | None:
    error, z = _largest(case, case.split.error)
    if abs(error) > case.tolerance_mm:
        return None
    return _keep(case, "leave", Voice(case.units).within(error, z, case.tolerance_mm))


def _slide_explains(case: Case) -> Decision | None:
    rows = case.open
    slide, left = explaining_slide(case.split.error[rows], case.mandrel.slope[rows], case.slide_allowance_mm)
    before, _ = _largest(case, case.split.error)
    if left > case.tolerance_mm or (slide < 0.0 and left > 0.5 * abs(before)):
        # a move to the tail that leaves more than half only hides lacking steel by making the rest too large
        return None
    return _slide(case, slide, left)


def _slide(case: Case, slide: float, left: float) -> Decision:
    before, _ = _largest(case, case.split.error)
    reason = Voice(case.units).slide(slide, case.slide_allowance_mm, before, left, case.tolerance_mm)
    return _keep(case, "slide", reason, slide=slide)


def _lacking(case: Case) -> Decision | None:
    error = np.where(case.open, case.split.error, np.inf)
    row = int(np.argmin(error))
    if error[row] >= -case.tolerance_mm:
        return None
    move = move_to_remove(
        case.mandrel,
        case.inverse.mandrel,
        case.open,
        floor=min(case.tolerance_mm, WORTHWHILE_MM),
        extra=np.nan_to_num(case.split.unexplained),
    )
    if move is not None and move <= case.slide_allowance_mm:
        return _move_to_remove(case, move)
    rows, limit, freedom = case.open, -case.tolerance_mm, case.split.degrees_of_freedom
    chance = chance_below(case.split.error[rows], case.split.need_sd[rows], limit, freedom)
    voice, z = Voice(case.units), float(case.mandrel.z[row])
    if chance < LACKING_CHANCE:
        more = batches_to_settle(
            case.split.need_sd[rows],
            case.evidence.scatter_mm,
            lambda sd: chance_below(case.split.error[rows], sd, limit, freedom) >= LACKING_CHANCE,
        )
        if more is not None:
            reason = voice.lacking_unsure(float(error[row]), z, chance, more)
            return _keep(case, "wait", reason, more=more)
    reason = voice.new_flare(float(error[row]), z, chance, move, case.slide_allowance_mm)
    return _keep(case, "new_flare", reason)


def _move_to_remove(case: Case, move: float) -> Decision:
    """Cut the line moved by `move`; should that cut be too small, the bell is slid by as little instead."""
    decision = _cut_or_wait(case, move)
    rows = case.open
    slide, left = explaining_slide(case.split.error[rows], case.mandrel.slope[rows], case.slide_allowance_mm)
    if decision.verdict.verdict != "recut" and left <= case.tolerance_mm:
        return _slide(case, slide, left)
    return decision


def _removal(case: Case) -> Decision:
    rows = case.open
    slide = sparing_slide(
        case.split.error[rows],
        case.mandrel.slope[rows],
        case.mandrel.s[rows],
        allowance=case.slide_allowance_mm,
        ratio=case.cost_ratio,
    )
    return _cut_or_wait(case, -slide)


def _cut_or_wait(case: Case, move: float) -> Decision:
    """Cut the sure part of the removal to the line moved by `move`, or say how many batches it needs."""
    voice, need = Voice(case.units), placed_need(case, move)
    expected = need + np.nan_to_num(case.split.unexplained)
    cut = _cautious(case, need, expected, case.split.need_sd)
    error, z = _largest(case, case.split.error)
    if cut.max() >= WORTHWHILE_MM:
        most = np.where(cut > 0.0, np.maximum(np.minimum(need, expected), cut), 0.0)
        return _recut(case, cut, most, move)
    more = batches_to_settle(
        case.split.need_sd,
        case.evidence.scatter_mm,
        lambda sd: bool(_cautious(case, need, expected, sd).max() >= WORTHWHILE_MM),
    )
    sure = _sure(case, expected)
    if more is None:
        return _keep(case, "leave", voice.unsettled(error, z, sure, MOST_BATCHES))
    return _keep(case, "wait", voice.wait(error, z, sure, WORTHWHILE_MM, more), more=more)


def placed_need(case: Case, move: float) -> FloatArray:
    """Full need [mm per side] when the wanted line is moved by `move` [mm] toward the rim."""
    if move == 0.0:
        return case.inverse.removal_mm
    straight = case.inverse.removal_mm + move * np.sin(case.mandrel.slope)
    exact = removal_after_move(case.mandrel, case.inverse.mandrel, move)
    return np.where(np.isfinite(exact), exact, straight)


def _cautious(case: Case, need: FloatArray, expected: FloatArray, sd: FloatArray) -> FloatArray:
    return cautious_cut(
        case.mandrel.s,
        expected,
        sd,
        case.open,
        quantile=case.quantile,
        degrees_of_freedom=case.split.degrees_of_freedom,
        most=need,
    )


def _sure(case: Case, expected: FloatArray) -> float:
    """Largest removal that is sure enough, before stretches too small to cut are dropped [mm]."""
    low = expected - float(student.ppf(case.quantile, case.split.degrees_of_freedom)) * case.split.need_sd
    return max(0.0, float(np.max(low[case.open])))


def _recut(case: Case, cut: FloatArray, most: FloatArray, move: float) -> Decision:
    rows, split = case.open, case.split
    after = split.error + move * np.sin(case.mandrel.slope) - cut
    freedom, tolerance = split.degrees_of_freedom, case.tolerance_mm
    chance_after = chance_out(after[rows], split.error_sd[rows], tolerance, freedom)
    kept = _keep(case, "recut", "", slide=-move).verdict
    deepest = int(np.argmax(np.where(rows, cut, 0.0)))
    z = float(case.mandrel.z[deepest])
    reason = Voice(case.units).recut(
        float(cut[deepest]), z, kept.largest_error_mm, kept.chance_out_before, chance_after, move
    )
    verdict = replace(
        kept,
        reason=reason,
        largest_cut_mm=float(cut[deepest]),
        largest_cut_at_mm=z,
        chance_out_after=chance_after,
    )
    return Decision(verdict, cut, most)


def _with_fault(case: Case, decision: Decision, fault: Fault) -> Decision:
    """The same cut, called process: the rows under the fault are masked and the others stand."""
    s, z = case.mandrel.s, case.mandrel.z
    z_from, z_to = np.interp([fault.s_from_mm, fault.s_to_mm], s, z)
    inner = decision.verdict
    rest = f"{inner.verdict.replace('_', ' ')}, {inner.reason}"
    reason = Voice(case.units).fault(fault, float(z_from), float(z_to), rest)
    return replace(decision, verdict=replace(inner, verdict="process", reason=reason))


def _keep(case: Case, word: str, reason: str, *, slide: float = 0.0, more: int | None = None) -> Decision:
    """A verdict that leaves the steel as it is."""
    rows, split = case.open, case.split
    error, at = _largest(case, split.error)
    freedom, tolerance = split.degrees_of_freedom, case.tolerance_mm
    before = chance_out(split.error[rows], split.error_sd[rows], tolerance, freedom)
    moved = split.error - slide * np.sin(case.mandrel.slope)
    after = chance_out(moved[rows], split.error_sd[rows], tolerance, freedom) if slide else before
    nothing = np.zeros(case.mandrel.s.size)
    verdict = Verdict(word, reason, slide, error, at, 0.0, float("nan"), before, after, more)
    return Decision(verdict, nothing, nothing)


def _largest(case: Case, error: FloatArray) -> tuple[float, float]:
    """The open row's error that is largest either way, and its z [mm]; (0, NaN) when none is open."""
    if not case.open.any():
        return 0.0, float("nan")
    row = int(np.argmax(np.where(case.open, np.abs(error), -1.0)))
    return float(error[row]), float(case.mandrel.z[row])
