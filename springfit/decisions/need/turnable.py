"""Whether a wanted line can be turned at all, and where it stops being one.

A line is turned from the side: going toward the rim it may never come back toward the tail, and may nowhere be bent
tighter than it is moved. A target that lies below the steel at a steep rim, or bands so wide that caution asks for
millimetres, can ask for a line that folds back on itself; what lies before that place can still be made.
"""

from __future__ import annotations

import numpy as np

from springfit.decisions.need.masking import BoolArray
from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray

__all__ = ["cut_short", "turnable_rows"]

LEAST_STRETCH = 0.1  # of arc left of a stretch after the move: less is bent tighter than a tool's corner; assumed
STEEPEST_RAD = np.deg2rad(88.0)  # of the moved line: past it a row in z says nothing any more; assumed
AS_STEEP_RAD = np.deg2rad(0.1)  # steeper than the steel there, which was turned, a line is as good as no steeper


def turnable_rows(present: Meridian, removal: FloatArray, *, stock_mm: float = 0.0) -> BoolArray:
    """Rows (n,) from the tail up to where `present` moved by `removal` (n,) [mm, into the steel] folds or turns back.

    stock_mm: left on the line all along it, which folds a little sooner.
    """
    rise = np.gradient(removal, present.s)
    good = np.full(present.s.size, True)
    for moved in (removal, removal - stock_mm):
        stretch = 1.0 + moved * present.curvature
        slope = present.slope + np.arctan2(-rise, np.maximum(stretch, 1e-9))
        z = present.z + moved * np.sin(present.slope)
        onward = np.append(np.diff(z) > 0.0, True)
        steepest = np.maximum(STEEPEST_RAD, present.slope + AS_STEEP_RAD)
        good &= (stretch > LEAST_STRETCH) & (slope < steepest) & onward
    return np.logical_and.accumulate(good & np.isfinite(removal))


def cut_short(line: Meridian, rows: int) -> Meridian:
    """The first `rows` stations of a line."""
    return Meridian(line.s[:rows], line.z[:rows], line.r[:rows], line.slope[:rows], line.curvature[:rows])
