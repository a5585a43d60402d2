"""Profiles that do not reach from the tail to the rim, or leave out a stretch between."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from springfit.lengths import in_words

__all__ = ["short_profile", "short_revision"]

Floats = NDArray[np.float64]

# By judgement, looked at on the demo, the sample shops and the trial books: profiles there begin at z = 0, end past the
# finished rim, and their widest step is three times the usual one and 3 % of their length.
_TAIL_SHARE = 0.1  # of the length that may be missing at the tail, where z = 0 is
_RIM_SHARE = 0.9  # of the finished rim's diameter that the last station has to reach
_GAP_TIMES, _GAP_SHARE = 6.0, 0.15  # a step so many times the usual one, and so much of the length, hides a shape
_LENGTH_SHARE = 0.9  # of its length before that a revision keeps


def short_profile(z: Floats, diameter: Floats, finished_rim: float, *, units: str) -> str:
    """What is missing of a profile [mm]; "" when nothing is.

    finished_rim: NaN where it is not known; units: those of the book, in which it is said."""
    length, steps = float(z[-1]), np.diff(z)
    if len(steps) and z[0] > _TAIL_SHARE * length:
        return f"begins at z = {in_words(z[0], units)}: z = 0 is the tail, and nothing stands for it"
    if diameter[-1] < _RIM_SHARE * finished_rim:
        last, rim = in_words(diameter[-1], units), in_words(finished_rim, units)
        return f"ends at a diameter of {last}, before its bells' finished rim of {rim}"
    widest = int(np.argmax(steps)) if len(steps) else 0
    if len(steps) and steps[widest] > max(_GAP_TIMES * float(np.median(steps)), _GAP_SHARE * length):
        return f"has no station between z = {in_words(z[widest], units)} and {in_words(z[widest + 1], units)}"
    return ""


def short_revision(z: Floats, before: Floats, *, units: str) -> str:
    """What is missing of a revision that the steel had before; "" when nothing is."""
    if z[-1] - z[0] >= _LENGTH_SHARE * (before[-1] - before[0]):
        return ""
    now, then = (in_words(float(ends[-1] - ends[0]), units) for ends in (z, before))
    return f"is {now} long, and was {then} before"
