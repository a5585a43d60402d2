"""The tail that no bell was ever read at: nothing is cut there, so nothing is judged there either.

Up to the first station the sheet is drawn on and hugs the steel: where the mandrel hardly turns from there to the tail,
the forecast says little that the steel does not. A row that may not be cut and can hardly be otherwise would only be
found wanting again after every cut. With it goes the stretch in which a cut that ends there has to run out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from springfit.decisions.bells.bell_support import STRAIGHT_RAD, BellSupport
from springfit.decisions.need.masking import RUN_OUT_SLOPE, SHORTEST_RUN_OUT
from springfit.decisions.need.split import ErrorSplit
from springfit.geometry.meridian import Meridian

__all__ = ["unread_tail"]


def unread_tail(bells: BellSupport | None, split: ErrorSplit, mandrel: Meridian) -> NDArray[np.bool_]:
    """Rows (n,) before the first one where bells were read, and after it as far as a cut of the error there runs out;
    none where there are no bells to go by, or the mandrel turns by more than 3 degrees before that row."""
    s, slope = mandrel.s, mandrel.slope
    if bells is None or not bells.read.any():
        return np.zeros(s.size, dtype=bool)
    first = int(np.argmax(bells.read))
    if first == 0 or float(np.ptp(slope[: first + 1])) > STRAIGHT_RAD:
        return np.zeros(s.size, dtype=bool)
    error = float(np.nan_to_num(split.error[first]))
    run_out = max(SHORTEST_RUN_OUT, RUN_OUT_SLOPE * error) if error > 0.0 else 0.0
    return np.asarray(s < s[first] + run_out)
