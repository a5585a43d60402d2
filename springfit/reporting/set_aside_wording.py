"""Why nothing was learned from a bell, or from a stretch of one, in a clause with its lengths in the shop's unit."""

from __future__ import annotations

from typing import assert_never

from springfit.learning.set_aside import (
    AnotherSteel,
    BeyondReach,
    Doubted,
    OneReadingOff,
    UnlikeItsBatch,
    WhySetAside,
)
from springfit.reporting.wording.length_wording import Units, coarse_amount, coarse_place

__all__ = ["set_aside_words"]

_STRANGER = "not a bell of this steel as written"


def set_aside_words(why: WhySetAside, units: Units) -> str:
    """The fact as one clause without capital or full stop; one case a kind."""
    match why:
        case Doubted(words):
            return words
        case AnotherSteel():
            return f"most of it stands beyond elastic reach at any seat: {_STRANGER}"
        case UnlikeItsBatch(rms_mm):
            return f"nothing explains it: {coarse_amount(rms_mm, units)} rms off its batch; {_STRANGER}"
        case BeyondReach(size_mm, arc_mm):
            return (
                f"{coarse_amount(size_mm, units, signed=True)} per side about arc {coarse_place(arc_mm, units)}, "
                "beyond elastic reach: a process fault, no springback"
            )
        case OneReadingOff(size_mm, arc_mm):
            size = coarse_amount(size_mm, units, signed=True)
            return f"one reading is {size} per side off the rest of its bell, at arc {coarse_place(arc_mm, units)}"
    assert_never(why)
