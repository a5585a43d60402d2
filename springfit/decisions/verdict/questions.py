"""The decision about a mandrel's steel, asked in one fixed order.

Is there anything to judge by? Is it beyond what springback can do, or scattered more than it is off
(process)? Is it within tolerance (leave)? Does a slide explain it (slide)? Would steel have to be added (a
move of the whole flare, else a new one)? Is the sure part of the removal worth cutting (recut), would more
batches make it so (wait), or not (leave)? Every question is one function here; the first that answers
decides, unless it would let things be where the bells and the forecast disagree.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from springfit.decisions.evidence import Fault
from springfit.decisions.need.axial import explaining_slide
from springfit.decisions.verdict.chances import chance_out, least_scatter
from springfit.decisions.verdict.decision_case import Case, Decision, Verdict, keep_steel, largest_error
from springfit.decisions.verdict.disagreement import unsettled
from springfit.decisions.verdict.reasons import (
    BatchesScatter,
    ErrorWithinTolerance,
    NeverMeasured,
    NoMandrelFound,
    NothingToJudge,
    NotLearned,
    ProcessFault,
)
from springfit.decisions.verdict.removing import LACKING_CHANCE, lacking, removal, slide_within_allowance

__all__ = ["Case", "Decision", "Verdict", "decide"]

FIRST_BATCHES = 2  # the fewest that show a scatter at all
EVEN_CHANCE = 0.5  # of being out: a slide likelier than that to leave the bell out explains nothing
FEW_BATCHES = 4  # that a shop may spin to know better, a year of one mandrel; assumed
SCATTER_BATCHES = 4  # with fewer, a large scatter may be one odd batch: wait for more instead of blaming; assumed


def decide(case: Case) -> Decision:
    """Ask the questions in order; a process fault keeps the cut of the rows it does not touch."""
    questions = (_fit_to_use, _scattered, _within, _slide_explains, lacking, removal)
    answered = next(answer for question in questions if (answer := question(case)) is not None)
    decision = _learned_first(case, unsettled(case, answered))
    habits = [fault for fault in case.evidence.habits if abs(fault.size_mm) > case.tolerance_mm and not case.unread]
    return _with_fault(case, decision, max(habits, key=lambda f: abs(f.size_mm))) if habits else decision


def _learned_first(case: Case, decision: Decision) -> Decision:
    """The decision, or none about steel where the forecast has not learned all that was measured."""
    new = case.evidence.unlearned
    if not new or not (decision.cut_mm.any() or decision.verdict.verdict == "new_flare"):
        return decision
    return keep_steel(case, "wait", NotLearned(new.own, new.others))


def _fit_to_use(case: Case) -> Decision | None:
    if not case.open.any():
        return keep_steel(case, "wait", NothingToJudge())
    if case.evidence.batches == 0 and case.evidence.unlearned.own:
        return keep_steel(case, "wait", NotLearned(case.evidence.unlearned.own, case.evidence.unlearned.others))
    if case.unread:
        return keep_steel(case, "wait", NeverMeasured(FIRST_BATCHES), more=FIRST_BATCHES)
    if not case.inverse.closed:
        left = float(np.nanmax(np.abs(np.where(case.open, case.inverse.error_mm, 0.0))))
        row = case.inverse.folds_row
        folds = None if row is None else float(case.mandrel.z[row])
        return keep_steel(case, "leave", NoMandrelFound(left, folds))
    return None


def _scattered(case: Case) -> Decision | None:
    """Batches that are surely further apart than they are off: by the forecast, and by bells that were spun alike,
    where there are any. What a forecast cannot explain is no scatter of batches."""
    batches, least = case.evidence.batches, least_scatter(case.evidence.scatter_mm, case.evidence.scatter_freedom)
    if case.bells is not None and case.bells.speaks:
        batches = min(batches, case.bells.batches)
        least = min(least, least_scatter(case.bells.apart, batches - 1.0))
    error, _ = largest_error(case)
    if batches < SCATTER_BATCHES or not least > max(abs(error), case.tolerance_mm):
        return None
    return keep_steel(case, "process", BatchesScatter(least, error, batches))


def _within(case: Case) -> Decision | None:
    error, z = largest_error(case)
    if abs(error) > case.tolerance_mm:
        return None
    return keep_steel(case, "leave", ErrorWithinTolerance(error, z, case.tolerance_mm))


def _slide_explains(case: Case) -> Decision | None:
    rows = case.known  # a slide has to suit the springback under a fault as well
    slide, left = explaining_slide(case.split.error[rows], case.mandrel.slope[rows], case.slide_allowance_mm)
    before, _ = largest_error(case)
    if left > case.tolerance_mm or (slide < 0.0 and left > 0.5 * abs(before)):
        # a move to the tail that leaves more than half only hides lacking steel by making the rest too large
        return None
    slid, rows = slide_within_allowance(case, slide, left), case.open
    moved = (case.split.error - slide * np.sin(case.mandrel.slope))[rows]
    lasting = case.known_to(case.split.need_sd)[rows]
    chance = chance_out(moved, lasting, case.tolerance_mm, case.split.degrees_of_freedom)
    if chance <= 1.0 - LACKING_CHANCE:
        return slid
    # What a slide may well leave out of tolerance is taken off where that is sure; what it is likelier to leave out
    # than not waits for the batches that would make it sure, where a few do.
    cut = removal(case)
    more = cut.verdict.more_batches
    waits = chance > EVEN_CHANCE and more is not None and more <= FEW_BATCHES
    return cut if cut.verdict.verdict == "recut" or waits else slid


def _with_fault(case: Case, decision: Decision, fault: Fault) -> Decision:
    """The same cut, called process: the rows under the fault are masked and the others stand."""
    s, z = case.mandrel.s, case.mandrel.z
    z_from, z_to = np.interp([fault.s_from_mm, fault.s_to_mm], s, z)
    inner = decision.verdict
    reason = ProcessFault(fault, float(z_from), float(z_to), inner.verdict, inner.reason)
    return replace(decision, verdict=replace(inner, verdict="process", reason=reason, more_batches=None))
