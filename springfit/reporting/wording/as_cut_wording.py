"""What is said of the last cut against its plan, and of how a step cut too deep may be saved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from springfit.decisions.cut_tables.as_cut import DEEP_MM
from springfit.reporting.wording.length_wording import Units, amount, station

if TYPE_CHECKING:
    from springfit.decisions.cut_tables.as_cut import AsCut

__all__ = ["as_cut_words"]


def as_cut_words(as_cut: AsCut, units: Units, *, allowance_mm: float) -> tuple[str, ...]:
    """One or two sentences; allowance_mm: the slide that the target allows."""
    if not as_cut.is_judged:
        return ("The new steel shares no judged station with its plan.",)
    if not as_cut.is_too_deep:
        least = amount(DEEP_MM, units)
        return (f"The new steel follows its plan: no row is more than {least} per side too deep.",)
    deep = (
        f"The new steel is {amount(as_cut.deepest_mm, units)} per side deeper than planned at "
        f"{station(as_cut.deepest_at_mm, units)}, which makes the bell {amount(-as_cut.bell_change_mm, units)} "
        "smaller there than the plan's."
    )
    return deep, _salvage(as_cut, units, allowance_mm)


def _salvage(as_cut: AsCut, units: Units, allowance_mm: float) -> str:
    move = as_cut.salvage_mm
    if move is None:
        return "It lies too near the cylinder for a move along the axis to save the line."
    allowed = "the target allows that" if move <= allowance_mm else f"the target allows {amount(allowance_mm, units)}"
    return (
        f"The planned line lies inside this steel again when moved {amount(move, units)} toward the rim ({allowed}), "
        f"with up to {amount(as_cut.salvage_cut_mm, units)} more to come off."
    )
