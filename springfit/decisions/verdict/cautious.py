"""How much steel to take now, when steel taken cannot be put back.

Steel left on costs one more round; steel taken too far costs a flare. With the costs in the ratio R to 1 the
cheapest cut in expectation is the one the true need exceeds with probability R / (R + 1): the newsvendor's
quantile. Everything below moves that cut one way only, toward more steel left on.
"""

from __future__ import annotations

import numpy as np
from scipy.stats import t as student

from springfit.decisions.need.masking import RUN_OUT_SLOPE, SHORTEST_RUN_OUT, BoolArray
from springfit.flag_runs import runs_of_true
from springfit.geometry.points import FloatArray
from springfit.records.rules.revisions import is_plated

__all__ = ["cautious_cut", "cost_quantile", "default_cost_ratio", "run_out"]


WORTHWHILE_MM = 0.025  # per side: a thou; less is within what a skive and a polish take without being asked
PARTED_MM = 0.5 * WORTHWHILE_MM  # where less is sure stretches are parted: no caliper tells half a thou from none
BARE_RATIO = 10.0  # cost of steel taken too far to steel left on; assumed
PLATED_RATIO = 20.0  # a plated mandrel must be stripped and plated again for every correction; twice that, assumed


def default_cost_ratio(finish: str | None) -> float:
    """Cost of steel taken too far against steel left on, by the mandrel's finish: 10, or 20 when plated."""
    return PLATED_RATIO if is_plated(finish) else BARE_RATIO


def cost_quantile(ratio: float) -> float:
    """Probability with which the true need must exceed the cut: ratio / (ratio + 1).

    ratio: cost of a unit cut too far over a unit left on; ValueError below 1, for then cutting would be the
    careful side.
    """
    if not ratio >= 1.0:
        raise ValueError(f"the cost ratio is {ratio}, expected 1 or more: steel cannot be put back")
    return ratio / (ratio + 1.0)


def cautious_cut(
    s: FloatArray,
    need: FloatArray,
    need_sd: FloatArray,
    open_rows: BoolArray,
    *,
    quantile: float,
    degrees_of_freedom: float,
    most: FloatArray | None = None,
    allowed: FloatArray | None = None,
    off_rim: bool = True,
) -> FloatArray:
    """The cut now [mm per side, never negative] on every station.

    need, need_sd: (n,) best estimate of the steel to remove and its standard deviation [mm]; quantile: from
    `cost_quantile`; most: (n,) a cut never to be exceeded (the full need of the inverse); allowed: (n,) another (what
    the mandrel's own bells support). The lower quantile of the need, never adding steel, stretches that never reach
    0.025 mm left alone, run out into untouched steel. Wider bands never cut more, anywhere. off_rim: whether a cut on
    the last open row is carried on to the rim; else it runs out before it.
    """
    low = need - float(student.ppf(quantile, degrees_of_freedom)) * need_sd
    if most is not None:
        low = np.minimum(low, most)
    if allowed is not None:
        low = np.minimum(low, allowed)
    wanted = np.where(open_rows, np.maximum(np.nan_to_num(low, neginf=0.0), 0.0), 0.0)
    cut = run_out(s, wanted, open_rows, off_rim=off_rim)
    if most is None or not open_rows.any() or not off_rim:
        return cut
    last = int(np.flatnonzero(open_rows)[-1])
    if most[last] > 0.0:
        # past the last open row in proportion to the full need, which is carried on without a kink, and never deeper
        # than where it was judged
        cut[last:] = cut[last] * np.clip(most[last:] / most[last], 0.0, 1.0)
    return cut


def run_out(s: FloatArray, cut: FloatArray, open_rows: BoolArray, *, off_rim: bool = True) -> FloatArray:
    """The cut brought to nothing gently beside steel that stays, and carried off the rim.

    Every stretch of cut is held under a ramp that rises from its untouched ends over 12 mm or 100 times its
    depth, whichever is longer, so the blend lies within the stretch and nothing outside is touched. Past the
    last open row the cut is carried on, where the tool runs off the steel, unless not `off_rim`. Stretches that never
    reach 0.025 mm are dropped, and so is a low one that hangs on a deeper by less than half of that.
    """
    result = np.zeros_like(cut)
    places = np.flatnonzero(open_rows)
    if places.size == 0:
        return result
    last = int(places[-1])
    for first, stop in runs_of_true(cut > PARTED_MM):
        deepest = float(cut[first : stop + 1].max())
        slope = min(deepest / SHORTEST_RUN_OUT, 1.0 / RUN_OUT_SLOPE)
        from_tail = s[first : stop + 1] - s[max(first - 1, 0)]
        to_rim = s[min(stop + 1, s.size - 1)] - s[first : stop + 1]
        room = from_tail if stop == last and off_rim else np.minimum(from_tail, to_rim)
        held = np.minimum(cut[first : stop + 1], slope * room)
        if held.max() >= WORTHWHILE_MM:
            result[first : stop + 1] = held
    if off_rim:
        result[last:] = result[last]
    return result
