"""What was cut against what was planned, and how a flare cut too deep in one place may be saved.

A new revision measured before any bell is spun on it answers three questions: where does the steel differ
from the plan, what will that do to the bell, and, where a step went too deep, how far the same line must be
moved toward the rim so that it lies in the steel again.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.decisions.need.axial import move_to_remove, removal_after_move
from springfit.decisions.need.inverse import Predict, bell_error
from springfit.geometry.meridian import Meridian, offset
from springfit.geometry.points import FloatArray
from springfit.geometry.seating import nearest_point

__all__ = ["AS_CUT_COLUMNS", "DEEP_MM", "AsCut", "Ordered", "compare_as_cut"]

# Per side, half of the 0.025 mm a diameter may be out (`cutting.OVERSIZE_MM`): an allowance for turning, no error of
# reading; less is how well steel is turned and measured
DEEP_MM = 0.0125
AS_CUT_COLUMNS = ("z_mm", "planned_cut_mm", "found_cut_mm", "too_deep_mm", "bell_planned_mm", "bell_found_mm")


@dataclass(frozen=True)
class Ordered:
    """The cut that a stored report ordered, at its stations (n,): z, present and ordered diameter [mm], and whether a
    row was judged."""

    z_mm: FloatArray
    present_mm: FloatArray
    cut_now_mm: FloatArray
    judged: NDArray[np.bool_]

    def on(self, steel: Meridian) -> tuple[Meridian, NDArray[np.bool_]]:
        """The line ordered of the steel it was ordered for, and that steel's judged rows."""
        radial = np.interp(steel.z, self.z_mm, (self.present_mm - self.cut_now_mm) / 2.0)
        judged = np.interp(steel.z, self.z_mm, self.judged.astype(float), left=0.0, right=0.0)
        return offset(steel, -radial * np.cos(steel.slope)), judged > 0.5


@dataclass(frozen=True)
class AsCut:
    """A measured revision against its plan; lengths per side along the normal [mm].

    rows: at the stations of the steel before the cut: removal planned and found, how much too deep (+) or
    shy (-), and the error of the bell forecast from the plan and from the steel as found. deepest_mm,
    deepest_at_mm: the row cut too deep by most and its z. bell_change_mm: what that does to the bell there.
    salvage_mm: the smallest move of the planned line toward the rim that lies inside the steel found; 0 when
    no row is too deep, None when no move helps. salvage_cut_mm: the deepest further cut that move asks for,
    NaN without one.
    """

    rows: pd.DataFrame
    deepest_mm: float
    deepest_at_mm: float
    bell_change_mm: float
    salvage_mm: float | None
    salvage_cut_mm: float

    @property
    def is_judged(self) -> bool:
        """Whether the new steel shares a judged station with its plan."""
        return bool(np.isfinite(self.deepest_at_mm))

    @property
    def is_too_deep(self) -> bool:
        """Whether a row lies deeper under the plan than steel is turned and measured to."""
        return self.deepest_mm > DEEP_MM


def compare_as_cut(
    before: Meridian,
    planned: Meridian,
    found: Meridian,
    target: Meridian,
    predict: Predict,
    *,
    open_rows: NDArray[np.bool_],
) -> AsCut:
    """Compare the steel `found` with the line `planned` for it, station by station of the steel `before`.

    open_rows: (n,) stations of `before` that are judged. Where the new steel was not measured as far as the
    old, rows are NaN and are not judged.
    """
    planned_cut = nearest_point(planned, before.z, before.r)[1]
    found_cut = nearest_point(found, before.z, before.r)[1]
    deep = found_cut - planned_cut
    bell_planned = _on(before, planned, bell_error(planned, target, predict(planned)))
    bell_found = _on(before, found, bell_error(found, target, predict(found)))
    rows = open_rows & np.isfinite(deep)
    deepest = int(np.argmax(np.where(rows, deep, -np.inf)))
    worst, z = (float(deep[deepest]), float(before.z[deepest])) if rows.any() else (0.0, float("nan"))
    change = float(bell_found[deepest] - bell_planned[deepest]) if rows.any() else 0.0
    salvage, further = (
        _salvage(found, planned, _rows_on(found, before, rows)) if worst > DEEP_MM else (0.0, np.nan)
    )
    columns = (before.z, planned_cut, found_cut, deep, bell_planned, bell_found)
    table = pd.DataFrame(dict(zip(AS_CUT_COLUMNS, columns, strict=True)))
    return AsCut(table, worst, z, change, salvage, float(further))


def _salvage(found: Meridian, planned: Meridian, rows: NDArray[np.bool_]) -> tuple[float | None, float]:
    move = move_to_remove(found, planned, rows, floor=0.0)
    if move is None:
        return None, float("nan")
    removal = removal_after_move(found, planned, move)
    return move, float(np.nanmax(np.where(rows, removal, np.nan)))


def _on(before: Meridian, other: Meridian, values: FloatArray) -> FloatArray:
    """Values given at the stations of `other`, at the stations of `before`, by arc length of the foot."""
    foot, _ = nearest_point(other, before.z, before.r)
    known = np.isfinite(values)
    result = np.interp(foot, other.s[known], values[known], left=np.nan, right=np.nan)
    return np.where(np.isfinite(foot), result, np.nan)


def _rows_on(found: Meridian, before: Meridian, rows: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The judged stations of `before` as stations of `found`."""
    foot, _ = nearest_point(before, found.z, found.r)
    near = np.interp(foot, before.s, rows.astype(float), left=0.0, right=0.0)
    return np.where(np.isfinite(foot), near, 0.0) > 0.5
