"""What a reader of a correction has to know besides its verdict, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from springfit.reporting.wording.cannot_tell import coverage_words
from springfit.reporting.wording.length_wording import Units, amount
from springfit.reporting.wording.reason_wording import blank_names, fault_words

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction
    from springfit.decisions.evidence import Fault, MandrelEvidence
    from springfit.decisions.verdict.decision_case import Case

__all__ = ["notes_of"]


def notes_of(correction: Correction, *, units: Units) -> tuple[str, ...]:
    """Sentences on the forecast, odd bells, how sure each part is, left-out errors, blanks and the axial move, each
    once."""
    case = correction.case
    notes = (
        *map(coverage_words, correction.forecast.notes),
        *_of_evidence(case.evidence),
        _spread_of_parts(case, units),
        *_left_out(case.evidence, units),
        *_blanks(correction),
        *_axial_move(correction),
    )
    return tuple(dict.fromkeys(notes))


def _of_evidence(evidence: MandrelEvidence) -> list[str]:
    """The revision without bells, faults that are past, faults of too few bells."""
    notes = []
    if evidence.unmeasured_revision is not None:
        notes.append(f"No sound bell of revision {evidence.unmeasured_revision} has been measured yet.")
    notes.extend(_discontinued(fault) for fault in evidence.discontinued)
    notes.extend(_odd_bells(fault) for fault in evidence.faults if not fault.is_habit)
    return notes


def _discontinued(fault: Fault) -> str:
    names = sorted(fault.bells)
    bells = f"{names[0]} to {names[-1]}" if len(names) > 2 else ", ".join(names)
    return (
        f"Bells {bells} were passed back toward the tail and are {fault_words(fault).split(',')[0]} there; "
        "the newest batch was not, so this is not held against the steel or the process of now."
    )


def _odd_bells(fault: Fault) -> str:
    bells = ", ".join(fault.bells)
    return f"Bell {bells}: {fault_words(fault)}; too few to blame the process, left out of the error."


def _spread_of_parts(case: Case, units: Units) -> str:
    """How well each part of the error is known where it is known worst: its largest standard deviation."""
    steel, spring, rest = (
        amount(float(np.nanmax(np.where(case.open, sd, 0.0))), units)
        for sd in (case.split.steel_sd, case.split.springback_sd, case.split.unexplained_sd)
    )
    parts = f"steel {steel}, springback {spring}, unexplained {rest}"
    return f"At the worst place the parts of the error are known, per side and give or take, to: {parts}."


def _left_out(evidence: MandrelEvidence, units: Units) -> list[str]:
    batches, mandrels = evidence.left_out_mm
    if not np.isfinite(batches):
        return []
    whole = f", of a whole mandrel left out {amount(mandrels, units)}" if np.isfinite(mandrels) else ""
    return [
        f"Tried on batches left out of learning, the forecast was off over the flare by {amount(batches, units)} "
        f"as a rule{whole}."
    ]


def _blanks(correction: Correction) -> list[str]:
    if correction.case.ceiling_mm is None or not correction.cuts_steel:
        return []
    names = blank_names(correction.case.unwritten)
    return [f"Not filled in among the conditions: {names}. No more is cut than the least that they may have been asks."]


def _axial_move(correction: Correction) -> list[str]:
    if not (correction.verdict.slide_mm and correction.cuts_steel):
        return []
    return ["What moving the bell mends is not cut. The full need is stated as if the bell stayed where it is."]
