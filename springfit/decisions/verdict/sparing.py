"""How much steel a slide toward the rim may spare: as much as leaves the bell hardly further out of tolerance for it.

A slide costs nothing, but slide and caution together may leave nothing to cut of a bell that is out. So steel is spared
until most of what sparing none would bring within tolerance is lost. The error is weighed by how unsure it is: a bell
within tolerance by the best estimate alone is as often out as not.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from springfit.decisions.need.axial import sparing_slide
from springfit.decisions.need.inverse import PROMISED_MM
from springfit.decisions.need.masking import SHORTEST_RUN_OUT
from springfit.decisions.verdict.chances import expected_beyond
from springfit.decisions.verdict.decision_case import Case, Decision
from springfit.geometry.points import FloatArray

__all__ = ["sparingly"]

SHORTEST_MM = 0.05  # of a slide: a bell is set along the axis no better; common practice, no source
HALVINGS = 6  # of the slides in question: to a sixtieth of the one that spares most, a hundredth of a mm or less
SET_TO = 41  # places a bell may be set to from one end of its allowance to the other: steps of a twentieth of it
MOST_OF = 0.9  # of the error that sparing none would bring within tolerance: the rest is not worth its steel; assumed
NOTHING_MM2 = PROMISED_MM * SHORTEST_RUN_OUT  # of error along the arc: what no forecast of a new line promises to meet


def sparingly(case: Case, answer: Callable[[float], Decision]) -> Decision:
    """The `answer` to the line moved by minus a slide [mm], of the slide that spares as much steel as it may."""
    rows = case.known
    error, slope, arc = case.split.error[rows], case.mandrel.slope[rows], case.mandrel.s[rows]
    most = sparing_slide(error, slope, arc, allowance=case.slide_allowance_mm)
    whole = answer(0.0)
    if most < SHORTEST_MM:
        return whole
    spared = answer(-most)
    least, out = (_out_of_tolerance(case, one.cut_mm) for one in (whole, spared))
    enough = least + max(NOTHING_MM2, (1.0 - MOST_OF) * (out - least))
    if out <= enough:
        return spared
    few, many, found = 0.0, most, whole
    for _ in range(HALVINGS):
        middle = 0.5 * (few + many)
        tried = answer(-middle)
        if _out_of_tolerance(case, tried.cut_mm) <= enough:
            few, found = middle, tried
        else:
            many = middle
    return found


def _out_of_tolerance(case: Case, cut: FloatArray) -> float:
    """What the lasting error is expected to lie beyond tolerance once `cut` is off and the bell set as well as the
    target allows, summed along the arc [mm^2]."""
    rows = case.open
    slides = np.linspace(-case.slide_allowance_mm, case.slide_allowance_mm, SET_TO)
    left = (case.split.error - cut)[rows] - slides[:, None] * np.sin(case.mandrel.slope[rows])
    beyond = expected_beyond(left, case.known_to(case.split.need_sd)[rows], case.tolerance_mm)
    return float(np.min(beyond @ np.gradient(case.mandrel.s)[rows]))
