"""Whether steel comes off: the sure part of the removal, where it is placed, and when to wait instead."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from springfit.decisions.need.axial import explaining_slide, move_to_remove, removal_after_move
from springfit.decisions.verdict.cautious import WORTHWHILE_MM, cautious_cut
from springfit.decisions.verdict.chances import (
    MOST_BATCHES,
    batches_to_settle,
    chance_below,
    chance_out,
    chances_below,
)
from springfit.decisions.verdict.decision_case import Case, Decision, keep_steel, largest_error
from springfit.decisions.verdict.reasons import (
    BlanksAllowLess,
    NothingWouldSettle,
    NotSureEnough,
    ReadAlike,
    SlideSuffices,
    SteelLacking,
    SteelMayBeLacking,
    SureCut,
)
from springfit.decisions.verdict.sparing import sparingly
from springfit.geometry.points import FloatArray

__all__ = ["LACKING_CHANCE", "lacking", "placed_need", "removal", "slide_within_allowance"]


# At least: a flare is neither thrown away nor cut all over on an even chance; four to one; assumed
LACKING_CHANCE = 0.8


def lacking(case: Case) -> Decision | None:
    """What to do where the bell is too small beyond tolerance; None when it is nowhere.

    Not surely so: cut what is sure elsewhere, or wait for the batches that would settle it. Surely so: turn
    the whole line further toward the rim if the target allows the move that makes every row a removal, else
    a new flare is needed.
    """
    rows = case.open
    error = np.where(rows, case.split.error, np.inf)
    row = int(np.argmin(error))
    if error[row] >= -case.tolerance_mm:
        return None
    sure = lacking_chance(case, case.split.need_sd)
    if sure.max() < _sure_enough(case):
        return _lacking_unsure(case, row)
    row = int(np.argmin(np.where(sure >= _sure_enough(case), error, np.inf)))
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
    reason = SteelLacking(float(error[row]), z, float(sure[row]), move, case.slide_allowance_mm)
    return keep_steel(case, "new_flare", reason)


def lacking_chance(case: Case, need_sd: FloatArray, *, more: int = 0) -> FloatArray:
    """Chance (n,) that the lasting error lies below the tolerance, by the forecast and by the bells, whichever is less
    sure; nought where nothing surer than a forecast speaks, for a wide band is no reason for a new flare.

    need_sd: (n,) of the forecast's lasting error [mm]; more: batches alike beside those seen.
    """
    limit, freedom = -case.tolerance_mm, case.split.degrees_of_freedom
    chance = chances_below(np.nan_to_num(case.split.error), need_sd, limit, freedom)
    if case.bells is not None and case.bells.speaks:
        chance = np.fmin(chance, case.bells.after(more).chance_below(limit))
    return np.where(case.cuttable, chance, 0.0)


def _sure_enough(case: Case) -> float:
    """Chance from which steel is taken to be lacking: as sure as a cut has to be."""
    return max(LACKING_CHANCE, case.quantile)


def _lacking_unsure(case: Case, row: int) -> Decision:
    elsewhere = removal(case)
    if elsewhere.verdict.verdict == "recut":
        return elsewhere
    rows, limit, freedom = case.open, -case.tolerance_mm, case.split.degrees_of_freedom
    chance = chance_below(case.split.error[rows], case.split.need_sd[rows], limit, freedom)
    more = batches_to_settle(
        case.split.need_sd,
        case.evidence.scatter_mm,
        lambda sd, more: bool(lacking_chance(case, sd, more=more).max() >= _sure_enough(case)),
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
    """Cut, wait or leave, once a slide toward the rim within the allowance has spared what it may."""
    return sparingly(case, lambda move: _cut_or_wait(case, move))


def _cut_or_wait(case: Case, move: float) -> Decision:
    """Cut the sure part of the removal to the line moved by `move`, or say how many batches it needs."""
    need = placed_need(case, move)
    expected = need + case.split.beyond
    cut = _cautious(case, need, expected, case.split.need_sd, move)
    sure = np.minimum(expected - case.margin, case.bells_allow(move))
    error, z = largest_error(case)
    if cut.max() >= WORTHWHILE_MM:
        most = np.where(cut > 0.0, np.maximum(np.minimum(need, _expected(case, expected, move)), cut), 0.0)
        return _recut(case, cut, most, move, sure)
    if case.ceiling_mm is not None:
        return keep_steel(case, "wait", BlanksAllowLess(error, z, case.unwritten))

    def batches(of: Case) -> int | None:
        return batches_to_settle(
            of.split.need_sd,
            of.evidence.scatter_mm,
            lambda sd, more: bool(_cautious(of, need, expected, sd, move, more=more).max() >= WORTHWHILE_MM),
        )

    more = batches(case)
    largest = max(0.0, float(np.max(sure[case.cuttable], initial=0.0)))
    if more is not None:
        return keep_steel(case, "wait", NotSureEnough(error, z, largest, WORTHWHILE_MM, more), more=more)
    bells = case.bells
    if bells is not None and (more := batches(replace(case, bells=bells.set_to_a_line))) is not None:
        return keep_steel(case, "wait", ReadAlike(error, z, largest, more), more=more)
    return keep_steel(case, "leave", NothingWouldSettle(error, z, largest, MOST_BATCHES))


def _expected(case: Case, expected: FloatArray, move: float) -> FloatArray:
    """The best estimate (n,) [mm] of the steel to remove, of the forecast or of the bells, whichever is less."""
    if case.bells is None or not case.bells.speaks:
        return expected
    shown = case.bells.error + move * np.sin(case.mandrel.slope)
    return np.where(case.bells.read, np.minimum(expected, shown), expected)


def placed_need(case: Case, move: float) -> FloatArray:
    """Full need [mm per side] when the wanted line is moved by `move` [mm] toward the rim."""
    if move == 0.0:
        return case.inverse.removal_mm
    straight = case.inverse.removal_mm + move * np.sin(case.mandrel.slope)
    exact = removal_after_move(case.mandrel, case.inverse.mandrel, move)
    return np.where(np.isfinite(exact) & ~case.masks.unread, exact, straight)  # the need runs out where nobody read


def _cautious(
    case: Case, need: FloatArray, expected: FloatArray, sd: FloatArray, move: float, *, more: int = 0
) -> FloatArray:
    """The cut now (n,) [mm] of a need that the forecast knows to `sd`: never more than the bells support, nor what
    blanks in the conditions may have asked. With `more` batches alike beside those seen."""
    rows = case.cuttable
    cut = cautious_cut(
        case.mandrel.s,
        expected,
        case.known_to(sd, more=more),
        rows,
        quantile=case.quantile,
        degrees_of_freedom=case.split.degrees_of_freedom,
        most=need,
        allowed=case.bells_allow(move, more=more),
        off_rim=_reaches_rim(case),
    )
    return cut if case.ceiling_mm is None else np.minimum(cut, case.ceiling_mm)


def _reaches_rim(case: Case) -> bool:
    """Whether the last row that is judged may be cut, so that the tool runs on to the finished rim."""
    rows, judged = np.flatnonzero(case.cuttable), np.flatnonzero(case.masks.rim)
    return bool(rows.size and judged.size and rows[-1] + 1 == judged[0])


def _recut(case: Case, cut: FloatArray, most: FloatArray, move: float, sure: FloatArray) -> Decision:
    rows, split = case.open, case.split
    after = split.error + move * np.sin(case.mandrel.slope) - cut
    freedom, tolerance = split.degrees_of_freedom, case.tolerance_mm
    chance_after = chance_out(after[rows], split.error_sd[rows], tolerance, freedom)
    deepest = int(np.argmax(np.where(rows, cut, 0.0)))
    z = float(case.mandrel.z[deepest])
    error, error_z = largest_error(case)
    answered = bool(np.interp(error_z, case.mandrel.z, cut) > 0.0)
    before = chance_out(split.error[rows], split.error_sd[rows], tolerance, freedom)
    reason = SureCut(float(cut[deepest]), z, error, error_z, answered, before, chance_after, move)
    verdict = replace(
        keep_steel(case, "recut", reason, slide=0.0 - move).verdict,  # never minus nought
        largest_cut_mm=float(cut[deepest]),
        largest_cut_at_mm=z,
        chance_out_after=chance_after,
    )
    return Decision(verdict, cut, most, sure)
