"""How much steel a slide toward the rim may spare, weighed against how far out of tolerance the bell is left for it.

A slide and caution together may leave nothing to cut of a bell that is out; steel that a slide makes needless is kept.
So the cut is the one for which the error expected beyond tolerance and a tenth of the steel it takes are least. That
error is weighed by how unsure it is: a bell within tolerance by the best estimate alone is as often out as not.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.optimize import minimize_scalar

from springfit.decisions.need.axial import LACKING_COST, sparing_slide
from springfit.decisions.verdict.chances import expected_beyond
from springfit.decisions.verdict.decision_case import Case, Decision
from springfit.geometry.points import FloatArray

__all__ = ["sparingly"]

SHORTEST_MM = 0.05  # of a slide: a bell is set along the axis no better; common practice, no source
SLIDES = 6  # tried, from the one that spares most steel to none
REFINEMENTS = 6  # tried about the best of them: to a fiftieth of the range
SET_TO = 41  # places a bell may be set to from one end of its allowance to the other: steps of a twentieth of it
# Of steel, to error beyond tolerance: as a slide that makes steel lacking is weighed against what it spares
STEEL_COST = 1.0 / LACKING_COST


def sparingly(case: Case, answer: Callable[[float], Decision]) -> Decision:
    """The `answer` to the line moved by minus a slide [mm], of the slide that costs least."""
    rows = case.known
    error, slope, arc = case.split.error[rows], case.mandrel.slope[rows], case.mandrel.s[rows]
    most = sparing_slide(error, slope, arc, allowance=case.slide_allowance_mm)
    if most < SHORTEST_MM:
        return answer(0.0)

    def cost(slide: float) -> float:
        return _cost(case, answer(-slide).cut_mm)

    slides = np.linspace(most, 0.0, SLIDES)
    tried = [cost(float(slide)) for slide in slides]
    best = int(np.argmin(tried))
    about = float(slides[min(best + 1, SLIDES - 1)]), float(slides[max(best - 1, 0)])
    finer = minimize_scalar(cost, bounds=about, method="bounded", options={"maxiter": REFINEMENTS})
    return answer(-float(finer.x if finer.fun < tried[best] else slides[best]))


def _cost(case: Case, cut: FloatArray) -> float:
    """What a cut leaves out of tolerance and what it takes, [mm^2]."""
    return _out_of_tolerance(case, cut) + STEEL_COST * float(cut @ np.gradient(case.mandrel.s))


def _out_of_tolerance(case: Case, cut: FloatArray) -> float:
    """What the lasting error is expected to lie beyond tolerance once `cut` is off and the bell set as well as the
    target allows, summed along the arc [mm^2]."""
    rows = case.open
    slides = np.linspace(-case.slide_allowance_mm, case.slide_allowance_mm, SET_TO)
    left = (case.split.error - cut)[rows] - slides[:, None] * np.sin(case.mandrel.slope[rows])
    beyond = expected_beyond(left, case.known_to(case.split.need_sd)[rows], case.tolerance_mm)
    return float(np.min(beyond @ np.gradient(case.mandrel.s)[rows]))
