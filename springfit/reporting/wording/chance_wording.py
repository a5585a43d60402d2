"""How a chance is printed, in a sentence and as a number of page one alike."""

from __future__ import annotations

import math

__all__ = ["chance"]


def chance(share: float) -> str:
    """A chance from 0 to 1 in whole per cent, never rounded to certainty: `94 %`, `<1 %`, `>99 %`."""
    if not math.isfinite(share):
        return "not known"
    percent = round(100.0 * share)
    if percent < 1:
        return "<1 %"
    return ">99 %" if percent > 99 else f"{percent} %"
