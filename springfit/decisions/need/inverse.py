"""The mandrel whose predicted bell is the target.

A bell is its mandrel moved along the normal by the gap the forecast gives for that very mandrel, so the
wanted mandrel solves

    mandrel + gap(mandrel) n = target.

The gap changes slowly with the mandrel, so moving every station of the present steel along its normal by the
error of the bell it would give, and asking again, closes quickly. Only the smooth difference is moved:
stations keep their places on the steel, and a kink turned into the mandrel stays a kink.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline

from springfit.decisions.forecast import Forecast
from springfit.decisions.need.masking import BoolArray, fill_masked
from springfit.decisions.need.turnable import turnable_rows
from springfit.geometry.meridian import Meridian, offset
from springfit.geometry.points import FloatArray
from springfit.geometry.seating import nearest_point

__all__ = ["PROMISED_MM", "Inverse", "Predict", "bell_error", "gap_on", "mandrel_for"]

Predict = Callable[[Meridian], Forecast]

CLOSED_MM = 0.0005  # a quarter of what is promised, so that rounding a table costs nothing
PROMISED_MM = 0.002  # a tenth of a thou is 0.0025: less than any row of a table is printed or turned to
MOST_ROUNDS = 25  # a bound: springback hardly changes with so small a cut, so a few rounds close it
SHORTEST_STEP = 0.1  # of a round; below it halving no more helps, and the round is taken as it is
CLEAR_MM = 2.0  # of arc before a fold, given up with it: over so much the line is carried on and bends away


@dataclass(frozen=True)
class Inverse:
    """The full need of steel and how well it closes.

    removal_mm: (n,) steel to take off along the normal at each station of the present mandrel, per side,
    negative where steel would have to be added. mandrel: the steel after that. forecast: its bell. error_mm:
    what is left between that bell and the target, NaN where there is no bell or no target. rounds: forecasts
    asked for. folds_row: station from which no line that can be turned would give the target, which folds back there;
    the stations from it on are only carried along. None where all of it can be turned.
    """

    removal_mm: FloatArray
    mandrel: Meridian
    forecast: Forecast
    error_mm: FloatArray
    rounds: int
    closed: bool
    folds_row: int | None = None

    @property
    def turnable(self) -> BoolArray:
        """Rows (n,) before the place where the wanted line folds: all of them where it does not."""
        rows = np.arange(self.removal_mm.size)
        return np.full(rows.size, True) if self.folds_row is None else rows < self.folds_row


def mandrel_for(
    target: Meridian,
    present: Meridian,
    predict: Predict,
    *,
    open_rows: BoolArray | None = None,
    forecast: Forecast | None = None,
) -> Inverse:
    """Solve mandrel + gap(mandrel) n = target on the stations of `present`.

    open_rows: (n,) rows that may move to meet the target; the others follow `fill_masked`. Rows without bell or target
    are never open. forecast: of `present`, when it is known already. Steps are halved whenever a round makes the error
    larger; rows from where the wanted line would fold move no longer. `closed`: every row that may move is within
    0.002 mm; nothing is raised when not, for the caller has to say so in words.
    """
    removal, mandrel = np.zeros(present.s.size), present
    forecast = predict(present) if forecast is None else forecast
    error = bell_error(mandrel, target, forecast)
    may_move = np.isfinite(error) if open_rows is None else open_rows & np.isfinite(error)
    step, rounds, folds = 1.0, 1, present.s.size
    while _worst(error, may_move) > CLOSED_MM and rounds < MOST_ROUNDS:
        wanted = removal + step * np.where(may_move, np.nan_to_num(error), 0.0)
        trial = fill_masked(present.s, wanted, may_move)
        good = turnable_rows(present, trial)
        if not good.all():  # the gap hardly changes with the line, so a line that folds now would fold in the end
            folds = min(folds, _clear_of(present, int(np.argmin(good))))
            may_move, rounds = may_move & (np.arange(present.s.size) < folds), rounds + 1
            continue
        new_mandrel, rounds = offset(present, -trial), rounds + 1
        new_forecast = predict(new_mandrel)
        new_error = bell_error(new_mandrel, target, new_forecast)
        # a row at the very rim may leave the forecast's meridian as the rim moves: it is open no longer
        may_move = may_move & np.isfinite(new_error)
        if _worst(new_error, may_move) > _worst(error, may_move) and step > SHORTEST_STEP:
            step *= 0.5
            continue
        removal, mandrel, forecast, error = trial, new_mandrel, new_forecast, new_error
    whole = folds == present.s.size
    closed = _worst(error, may_move) <= PROMISED_MM and (whole or bool(may_move.any()))
    return Inverse(removal, mandrel, forecast, error, rounds, closed, None if whole else folds)


def _clear_of(present: Meridian, row: int) -> int:
    """The last station that lies clear of a fold at `row`."""
    return int(np.searchsorted(present.s, float(present.s[row]) - CLEAR_MM))


def bell_error(mandrel: Meridian, target: Meridian, forecast: Forecast) -> FloatArray:
    """Bell minus target along the target's normal, per side [mm], at the mandrel's stations, + when larger.

    NaN past the trimmed rim and past the ends of the target: nothing is extrapolated.
    """
    gap = gap_on(mandrel, forecast)
    z = mandrel.z - gap * np.sin(mandrel.slope)
    r = mandrel.r + gap * np.cos(mandrel.slope)
    return nearest_point(target, z, r)[1]


def gap_on(mandrel: Meridian, forecast: Forecast) -> FloatArray:
    """The forecast gap [mm] at the mandrel's own stations, NaN past the trimmed rim."""
    s = forecast.meridian.s
    gap = CubicSpline(s, forecast.gap)(np.minimum(mandrel.s, s[-1]))
    return np.where(mandrel.s <= s[-1] + 1e-9, gap, np.nan)


def _worst(error: FloatArray, rows: BoolArray) -> float:
    """Largest error on the open rows, 0 when none is open."""
    return float(np.max(np.abs(error[rows]))) if rows.any() else 0.0
