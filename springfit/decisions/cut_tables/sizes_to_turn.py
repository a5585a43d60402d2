"""The sizes a decision asks to be turned: of the cut now, or of a whole new flare as far as one can be turned."""

from __future__ import annotations

from typing import Any

import pandas as pd

from springfit.decisions.cut_tables.cutting import cut_table, joint_of
from springfit.decisions.job import Job
from springfit.decisions.need.turnable import cut_short, turnable_rows
from springfit.decisions.verdict.decision_case import Case, Decision

__all__ = ["USUAL_SKIVE_MM", "sizes_to_turn"]

# Per side: four thou, what a hand skives off turned steel; common practice, no source
USUAL_SKIVE_MM = 0.1
FEWEST_ROWS = 8  # of a line worth a table; as few as the record book asks of a profile


def sizes_to_turn(
    case: Case, decision: Decision, job: Job, *, skive_mm: float, rim_mm: float
) -> tuple[pd.DataFrame, float | None]:
    """The cut table, and the z [mm] from which a wanted new flare cannot be turned (None where all of it can).

    A cut ends at the finished rim, `rim_mm` of arc. A new flare is left as full as caution asks.
    """
    mandrel = case.mandrel
    # by the bell wanted, which no cut changes: a place keeps its piece from one revision to the next
    hand: dict[str, Any] = {"skive_mm": skive_mm, "marked_mm": job.marked_mm, "joint_mm": joint_of(job.target)}
    if decision.verdict.verdict != "new_flare":
        return cut_table(mandrel, decision.cut_mm, decision.most_mm, rim_mm=rim_mm, **hand), None
    need = case.inverse.removal_mm
    full = need - case.margin
    rows = turnable_rows(mandrel, full, stock_mm=skive_mm) & turnable_rows(mandrel, need) & case.inverse.turnable
    count = int(rows.sum())
    while count >= FEWEST_ROWS:
        part = slice(0, count)
        try:
            line = cut_short(mandrel, count)
            table = cut_table(line, full[part], need[part], whole=True, **hand)
        except (ArithmeticError, ValueError):
            # a line that bends back within a step: what lies well before that place can still be turned
            count = count * 9 // 10
            continue
        return table, None if count == mandrel.s.size else float(mandrel.z[count])
    nothing = cut_table(mandrel, 0.0 * need, 0.0 * need, skive_mm=skive_mm)
    return nothing, float(mandrel.z[count])
