"""Where the bells of a mandrel and its forecast disagree, and when that is the answer.

Both are told with a band. Apart by more than the two together, one of them is wrong, and no steel is cut on either:
the place is measured again. A forecast that finds all in tolerance is not believed where the bells surely are not.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.stats import t as student

from springfit.decisions.bells.bell_support import BellSupport
from springfit.decisions.need.split import ErrorSplit
from springfit.decisions.verdict.decision_case import Case, Decision, keep_steel
from springfit.decisions.verdict.reasons import BellsDisagree
from springfit.flag_runs import runs_of_true
from springfit.normal_errors import BAND_LEVEL

__all__ = ["disagreement", "disputed_rows", "unsettled"]


def disputed_rows(bells: BellSupport | None, split: ErrorSplit) -> NDArray[np.bool_]:
    """Rows (n,) where bells were read and the two are apart by more than both half bands."""
    if bells is None or not bells.speaks:
        return np.zeros(split.error.size, dtype=bool)
    apart = np.abs(split.error - bells.error)
    return bells.read & (apart > bells.half_band(BAND_LEVEL) + _half_band(split)) & np.isfinite(split.error)


def disagreement(case: Case) -> BellsDisagree | None:
    """The disagreement that matters most: where one of the two is out of tolerance; None where none does."""
    if case.bells is None or not case.bells.speaks:
        return None
    larger = np.maximum(np.abs(case.bells.error), np.abs(np.nan_to_num(case.split.error)))
    rows = case.masks.disputed & (larger > case.tolerance_mm)
    return _told(case, rows) if rows.any() else None


def unsettled(case: Case, decision: Decision) -> Decision:
    """The decision, or to measure again where it would leave or wait though bells and forecast disagree, or leave
    though the bells are surely out of tolerance."""
    if decision.verdict.verdict not in ("leave", "wait") or case.bells is None or not case.bells.speaks:
        return decision
    reason = disagreement(case)
    if reason is None and decision.verdict.verdict == "leave":
        sure = np.abs(case.bells.error) - case.bells.half_band(BAND_LEVEL)
        rows = case.open & case.bells.read & (sure > case.tolerance_mm)
        reason = _told(case, rows) if rows.any() else None
    return decision if reason is None else keep_steel(case, "wait", reason)


def _told(case: Case, rows: NDArray[np.bool_]) -> BellsDisagree:
    """The disagreement at the row among `rows` where the two are furthest apart."""
    bells, split, mandrel = case.bells, case.split, case.mandrel
    assert bells is not None
    row = int(np.argmax(np.where(rows, np.abs(split.error - bells.error), -1.0)))
    stretches = tuple((float(mandrel.z[a]), float(mandrel.z[b])) for a, b in runs_of_true(rows))
    return BellsDisagree(
        float(mandrel.z[row]), float(mandrel.slope[row]), float(bells.error[row]),
        float(bells.half_band(BAND_LEVEL)[row]), float(split.error[row]), float(_half_band(split)[row]),
        bells.batches, stretches,
    )  # fmt: skip


def _half_band(split: ErrorSplit) -> NDArray[np.float64]:
    return np.asarray(student.ppf(0.5 + 0.5 * BAND_LEVEL, split.degrees_of_freedom) * split.error_sd)
