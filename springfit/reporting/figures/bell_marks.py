"""Marks of what was measured: the mean of each batch with its spread, on axes along a bell."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from springfit.reporting.figures.bell_axes import in_unit
from springfit.reporting.wording.length_wording import Units, small_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["MARKED", "draw_measured", "told_batches"]

_SHAPES = ("o", "s", "^", "D")
MARKED = len(_SHAPES)  # batches with a shape of their own; more cannot be told apart in black
_BESIDE_MM = 1.6  # of arc between the marks of two batches at one station; they do not touch; by eye


def told_batches(measured: pd.DataFrame, most: int) -> list[str]:
    """At most so many batches by name, in their order: those that are used before others, the newest before older."""
    batches = measured.drop_duplicates("batch_id")
    used = batches["used"].to_numpy(bool)
    names = [*batches["batch_id"][used].iloc[::-1], *batches["batch_id"][~used].iloc[::-1]][:most]
    return [str(name) for name in batches["batch_id"] if name in names]


def draw_measured(axes: Axes, measured: pd.DataFrame, *, units: Units) -> None:
    """A mark a batch and station with a line of one standard deviation each way: black where used, grey where not.

    measured: rows of `Correction.measured`. Four have a shape of their own, the others are small dots.
    """
    unit = small_unit(units)
    told = told_batches(measured, MARKED)
    others = measured[~measured["batch_id"].isin(told)]
    if len(others):
        axes.plot(
            others["s_mm"], in_unit(unit, others["measured_error_mm"]), linestyle="none", marker=".",
            markersize=4, color="0.25", label="other batches", zorder=3,
        )  # fmt: skip
    for number, name in enumerate(told):
        rows = measured[measured["batch_id"] == name]
        used = bool(rows["used"].iloc[0])
        axes.errorbar(
            rows["s_mm"] + _BESIDE_MM * (number - (len(told) - 1) / 2),
            in_unit(unit, rows["measured_error_mm"]), yerr=in_unit(unit, rows["sd_mm"]),
            linestyle="none", marker=_SHAPES[number], markersize=6.5 if used else 5.5,
            color="black" if used else "0.45", ecolor="black" if used else "0.7", elinewidth=1.1, capsize=0,
            markerfacecolor="black" if used and number == len(told) - 1 else "white", markeredgewidth=1.3,
            label=f"{name}, " + (f"{rows['bells'].iloc[0]} bells" if used else "not used"), zorder=4,
        )  # fmt: skip
