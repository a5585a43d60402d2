"""What would settle a decision that waits, in the order of what it is worth.

Cutting at the cautious quantile costs, in expectation, (c_u + c_o) phi(z) s a row, for a normal need known to a
standard deviation s, z being that quantile of the normal [the newsvendor's least expected loss]. Whatever brings s down
to s' is therefore worth (c_u + c_o) phi(z) (s - s'): a batch brings it down everywhere a little, a reading where no
bell was read brings it down there by much, a blank filled in takes away what the blank might have been. c_u is 1 a mm.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from scipy.stats import norm

from springfit.decisions.bells.bell_support import APART_MM, HEATS, BellSupport
from springfit.decisions.need.masking import BoolArray
from springfit.decisions.verdict.cautious import cost_quantile
from springfit.decisions.verdict.chances import sd_after_batches
from springfit.decisions.verdict.decision_case import Case
from springfit.flag_runs import runs_of_true
from springfit.geometry.points import FloatArray

__all__ = ["Settling", "reading_worth", "what_would_settle"]

# 1 sd of a place read on a few bells: how far calipers and hands err, about half a thou, and no limit; assumed
READING_MM = 0.012
LEFT_OF_VARIANCE = 0.01  # at least, when a blank is filled in: a tenth of the sd, for nothing is then sure; assumed
UNDECIDED_SD = 3.0  # rows whose need is further from nothing than this are decided as they are; past it once in 370
MOST_TOLD = 5  # more are a list nobody works off
BATCHES = (1, 2)  # that a shop may spin before it decides: the next, or one more


@dataclass(frozen=True)
class Settling:
    """One thing that would help: `kind` blank, station, again or batches; its worth in mm of steel left on, summed
    along the arc [mm^2]; column of a blank, z and slope of a station, how many batches, else nothing."""

    kind: str
    worth: float
    column: str = ""
    z_mm: float = float("nan")
    slope_rad: float = float("nan")
    batches: int = 0


def reading_worth(prior_sd: FloatArray, after_sd: FloatArray, ratio: float) -> FloatArray:
    """Expected value (n,) [mm] of bringing a need known to `prior_sd` down to `after_sd`, costs in `ratio` to 1."""
    z = norm.ppf(cost_quantile(ratio))
    return np.asarray((1.0 + ratio) * norm.pdf(z) * np.maximum(prior_sd - after_sd, 0.0))


def what_would_settle(case: Case, blanks: Mapping[str, FloatArray]) -> tuple[Settling, ...]:
    """What to do next, dearest first. blanks: what each blank column may do to the need, 1 sd (n,) [mm]."""
    rows = _undecided(case)
    if not rows.any():
        return ()
    sd, s = _surest_sd(case), case.mandrel.s
    width = np.gradient(s)

    def worth(after: FloatArray) -> float:
        return float(np.sum((reading_worth(sd, after, case.cost_ratio) * width)[rows]))

    told = [
        *(Settling("blank", worth(np.sqrt(np.maximum(sd**2 - blank**2, LEFT_OF_VARIANCE * sd**2))), column=name)
          for name, blank in blanks.items()),
        *_stations(case, sd, worth),
        *(Settling("batches", worth(sd_after_batches(sd, case.evidence.scatter_mm, count)), batches=count)
          for count in BATCHES),
    ]  # fmt: skip
    told.sort(key=lambda one: -one.worth)
    return tuple(one for one in told if one.worth > 0.0)[:MOST_TOLD]


def _undecided(case: Case) -> BoolArray:
    """Rows that are judged, or would be if bells and forecast agreed, and whose need may lie either side of nothing."""
    error, sd = np.nan_to_num(case.split.error), case.split.need_sd
    judged = (case.open | case.masks.disputed | case.masks.unread) & np.isfinite(case.split.error)
    return judged & ((np.abs(error) < UNDECIDED_SD * sd) | case.masks.disputed)


def _surest_sd(case: Case) -> FloatArray:
    """Standard deviation (n,) [mm] of the need by whichever is surer, forecast or bells, however few batches; where the
    two disagree, as far as they are apart."""
    sd = case.split.need_sd.copy()
    bells = case.bells
    if bells is None or not bells.speaks:
        return sd
    sd = np.where(bells.read, np.minimum(sd, bells.sd), sd)
    apart = np.abs(np.nan_to_num(case.split.error) - bells.error)
    return np.where(case.masks.disputed, np.maximum(sd, apart), sd)


def _stations(case: Case, sd: FloatArray, worth: Callable[[FloatArray], float]) -> list[Settling]:
    """Places to read on the bells at hand: in the middle of each unread stretch, and where the two disagree."""
    bells, mandrel = case.bells, case.mandrel
    if bells is None or not bells.speaks:
        return []
    told = []
    for kind, rows in (("station", (case.open | case.masks.unread) & ~bells.read), ("again", case.masks.disputed)):
        for first, last in runs_of_true(rows):
            weight = np.where(rows, sd, 0.0)[first : last + 1]
            row = first + int(np.argmax(weight)) if kind == "again" else (first + last) // 2
            near = np.abs(mandrel.s - mandrel.s[row]) <= APART_MM / 2
            after = np.where(near, 1.0 / np.sqrt(1.0 / np.maximum(sd, 1e-9) ** 2 + 1.0 / _noise(bells) ** 2), sd)
            told.append(Settling(kind, worth(after), z_mm=float(mandrel.z[row]), slope_rad=float(mandrel.slope[row])))
    return told


def _noise(bells: BellSupport) -> FloatArray:
    """1 sd (n,) [mm] of what a reading on the bells at hand would say of their lasting mean."""
    return np.hypot(READING_MM, HEATS * np.abs(bells.error)) / np.sqrt(max(bells.batches, 1))
