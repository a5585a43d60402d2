"""What a reader of a correction has to know besides its verdict."""

from __future__ import annotations

import numpy as np

from springfit.decisions.forecast import Forecast
from springfit.decisions.verdict.case import Case, Decision
from springfit.decisions.verdict.reasons import Voice

__all__ = ["notes_of"]


def notes_of(case: Case, decision: Decision, forecast: Forecast) -> tuple[str, ...]:
    """Sentences on the forecast, odd bells, how sure each part is, left-out errors, blanks and the axial move."""
    voice, notes = Voice(case.units), [*forecast.level_notes, *case.evidence.notes]
    for fault in case.evidence.faults:
        if not fault.is_habit:
            bells = ", ".join(fault.bells)
            notes.append(
                f"Bell {bells}: {fault.reason}; too few to blame the process, left out of the error."
            )
    steel, spring, rest = (
        float(np.nanmax(np.where(case.open, sd, 0.0)))
        for sd in (case.split.steel_sd, case.split.springback_sd, case.split.unexplained_sd)
    )
    notes.append(
        f"One standard deviation per side at most: steel {voice.small(steel)}, springback {voice.small(spring)}, "
        f"unexplained {voice.small(rest)}."
    )
    batches, mandrels = case.evidence.left_out_mm
    if np.isfinite(batches):
        whole = f", and whole mandrels to {voice.small(mandrels)}" if np.isfinite(mandrels) else ""
        notes.append(
            f"Left out of learning, batches were forecast to {voice.small(batches)} rms over the flare{whole}."
        )
    if case.ceiling_mm is not None and decision.cut_mm.any():
        names = ", ".join(name.removesuffix("_mm").replace("_", " ") for name in case.unwritten)
        notes.append(
            f"Blank in the conditions: {names}. No more is cut than the least that they may have been asks."
        )
    if decision.verdict.slide_mm and decision.cut_mm.any():
        notes.append(
            "The cut leaves to the axial move what a move can do; the full need is stated without that move."
        )
    return tuple(notes)
