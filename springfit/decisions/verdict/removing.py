"""Whether steel comes off: the sure part of the removal, where it is placed, and when to wait instead."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from springfit.decisions.need.axial import explaining_slide, move_to_remove, removal_after_move, sparing_slide
from springfit.decisions.verdict.cautious import WORTHWHILE_MM, cautious_cut
from springfit.decisions.verdict.chances import MOST_BATCHES, batches_to_settle, chance_below, chance_out
from springfit.decisions.verdict.decision_case import Case, Decision, keep_steel, largest_error
from springfit.decisions.verdict.reasons import (
    BlanksAllowLess,
    NothingWouldSettle,
    NotSureEnough,
    SlideSuffices,
    SteelLacking,
    SteelMayBeLacking,
    SureCut,
)
from springfit.geometry.points import FloatArray

__all__ = ["lacking", "placed_need", "removal", "slide_within_allowance"]


LACKING_CHANCE = 0.8  # a flare is neither thrown away nor cut all over on an even chance


def lacking(case: Case) -> Decision | None:
    """What to do where the bell is too small beyond tolerance; None when it is nowhere.

    Not surely so: cut what is sure elsewhere, or wait for the batches that would settle it. Surely so: turn
    the whole line further toward the rim if the target allows the move that makes every row a removal, else
    a new flare is needed.
    """
    rows, limit = case.open, -case.tolerance_mm
    error = np.where(rows, case.split.error, np.inf)
    row = int(np.argmin(error))
    if error[row] >= limit:
        return None
    freedom = case.split.degrees_of_freedom
    chance = chance_below(case.split.error[rows], case.split.need_sd[rows], limit, freedom)
    if chance < LACKING_CHANCE:
        return _lacking_unsure(case, row, chance)
    move = move_to_remove(
        case.mandrel,
        case.inverse.mandrel,
        rows,
        floor=min(case.tolerance_mm, WORTHWHILE_MM),
        extra=case.split.beyond,
    )
    if move is not None and move <= case.slide_allowance_mm:
        return _move_to_remove(case, move)
    z = float(case.mandrel.z[row])
    reason = SteelLacking(float(error[row]), z, chance, move, case.slide_allowance_mm)
    return keep_steel(case, "new_flare", reason)


def _lacking_unsure(case: Case, row: int, chance: float) -> Decision:
    elsewhere = removal(case)
    if elsewhere.verdict.verdict == "recut":
        return elsewhere
    rows, limit, freedom = case.open, -case.tolerance_mm, case.split.degrees_of_freedom
    more = batches_to_settle(
        case.split.need_sd[rows],
        case.evidence.scatter_mm,
        lambda sd: chance_below(case.split.error[rows], sd, limit, freedom) >= LACKING_CHANCE,
    )
    if more is None:
        return elsewhere
    error, z = float(case.split.error[row]), float(case.mandrel.z[row])
    reason = SteelMayBeLacking(error, z, chance, more)
    return keep_steel(case, "wait", reason, more=more)


def _move_to_remove(case: Case, move: float) -> Decision:
    """Cut the line moved by `move`; should that cut be too small, the bell is slid by as little instead."""
    decision = _cut_or_wait(case, move)
    rows = case.open
    slide, left = explaining_slide(case.split.error[rows], case.mandrel.slope[rows], case.slide_allowance_mm)
    if decision.verdict.verdict != "recut" and left <= case.tolerance_mm:
        return slide_within_allowance(case, slide, left)
    return decision


def slide_within_allowance(case: Case, slide: float, left: float) -> Decision:
    """The verdict slide: `slide` [mm] leaves a largest error of `left` [mm]."""
    before, _ = largest_error(case)
    reason = SlideSuffices(slide, case.slide_allowance_mm, before, left, case.tolerance_mm)
    return keep_steel(case, "slide", reason, slide=slide)


def removal(case: Case) -> Decision:
    """Cut, wait or leave, once a slide toward the rim within the allowance has spared what it can."""
    rows = case.known
    slide = sparing_slide(
        case.split.error[rows],
        case.mandrel.slope[rows],
        case.mandrel.s[rows],
        allowance=case.slide_allowance_mm,
    )
    return _cut_or_wait(case, -slide)


def _cut_or_wait(case: Case, move: float) -> Decision:
    """Cut the sure part of the removal to the line moved by `move`, or say how many batches it needs."""
    need = placed_need(case, move)
    expected = need + case.split.beyond
    cut = _cautious(case, need, expected, case.split.need_sd)
    error, z = largest_error(case)
    if cut.max() >= WORTHWHILE_MM:
        most = np.where(cut > 0.0, np.maximum(np.minimum(need, expected), cut), 0.0)
        return _recut(case, cut, most, move)
    if case.ceiling_mm is not None:
        return keep_steel(case, "wait", BlanksAllowLess(error, z, case.unwritten))
    more = batches_to_settle(
        case.split.need_sd,
        case.evidence.scatter_mm,
        lambda sd: bool(_cautious(case, need, expected, sd).max() >= WORTHWHILE_MM),
    )
    sure = _sure(case, expected)
    if more is None:
        return keep_steel(case, "leave", NothingWouldSettle(error, z, sure, MOST_BATCHES))
    return keep_steel(case, "wait", NotSureEnough(error, z, sure, WORTHWHILE_MM, more), more=more)


def placed_need(case: Case, move: float) -> FloatArray:
    """Full need [mm per side] when the wanted line is moved by `move` [mm] toward the rim."""
    if move == 0.0:
        return case.inverse.removal_mm
    straight = case.inverse.removal_mm + move * np.sin(case.mandrel.slope)
    exact = removal_after_move(case.mandrel, case.inverse.mandrel, move)
    return np.where(np.isfinite(exact), exact, straight)


def _cautious(case: Case, need: FloatArray, expected: FloatArray, sd: FloatArray) -> FloatArray:
    cut = cautious_cut(
        case.mandrel.s,
        expected,
        sd,
        case.open,
        quantile=case.quantile,
        degrees_of_freedom=case.split.degrees_of_freedom,
        most=need,
    )
    return cut if case.ceiling_mm is None else np.minimum(cut, case.ceiling_mm)


def _sure(case: Case, expected: FloatArray) -> float:
    """Largest removal that is sure enough, before stretches too small to cut are dropped [mm]."""
    return max(0.0, float(np.max((expected - case.margin)[case.open])))


def _recut(case: Case, cut: FloatArray, most: FloatArray, move: float) -> Decision:
    rows, split = case.open, case.split
    after = split.error + move * np.sin(case.mandrel.slope) - cut
    freedom, tolerance = split.degrees_of_freedom, case.tolerance_mm
    chance_after = chance_out(after[rows], split.error_sd[rows], tolerance, freedom)
    deepest = int(np.argmax(np.where(rows, cut, 0.0)))
    z = float(case.mandrel.z[deepest])
    error, _ = largest_error(case)
    before = chance_out(split.error[rows], split.error_sd[rows], tolerance, freedom)
    reason = SureCut(float(cut[deepest]), z, error, before, chance_after, move)
    verdict = replace(
        keep_steel(case, "recut", reason, slide=-move).verdict,
        largest_cut_mm=float(cut[deepest]),
        largest_cut_at_mm=z,
        chance_out_after=chance_after,
    )
    return Decision(verdict, cut, most)
