"""Profiles that do not reach from the tail to the rim, or leave out a stretch between."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["short_profile", "short_revision"]

Floats = NDArray[np.float64]

# By judgement, looked at on the demo, the sample shops and the trial books: profiles there begin at z = 0, end past the
# finished rim, and their widest step is three times the usual one and 3 % of their length.
_TAIL_SHARE = 0.1  # of the length that may be missing at the tail, where z = 0 is
_RIM_SHARE = 0.9  # of the finished rim's diameter that the last station has to reach
_GAP_TIMES, _GAP_SHARE = 6.0, 0.15  # a step so many times the usual one, and so much of the length, hides a shape
_LENGTH_SHARE = 0.9  # of its length before that a revision keeps


def short_profile(z: Floats, diameter: Floats, finished_rim: float) -> str:
    """What is missing of a profile [mm]; "" when nothing is. finished_rim: NaN where it is not known."""
    length, steps = float(z[-1]), np.diff(z)
    if len(steps) and z[0] > _TAIL_SHARE * length:
        return f"begins at z = {z[0]:.4g} mm: z = 0 is the tail, and nothing stands for it"
    if diameter[-1] < _RIM_SHARE * finished_rim:
        return f"ends at a diameter of {diameter[-1]:.4g} mm, before its bells' finished rim of {finished_rim:.4g} mm"
    widest = int(np.argmax(steps)) if len(steps) else 0
    if len(steps) and steps[widest] > max(_GAP_TIMES * float(np.median(steps)), _GAP_SHARE * length):
        return f"has no station between z = {z[widest]:.4g} and {z[widest + 1]:.4g} mm"
    return ""


def short_revision(z: Floats, before: Floats) -> str:
    """What is missing of a revision that the steel had before; "" when nothing is."""
    if z[-1] - z[0] >= _LENGTH_SHARE * (before[-1] - before[0]):
        return ""
    return f"is {z[-1] - z[0]:.4g} mm long, and was {before[-1] - before[0]:.4g} mm before"
