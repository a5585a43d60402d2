"""The picture of a correction: the bell's error from tail to rim, and the profile with the place to cut.

Black ink on white. Lines are told apart by their dashes and their weight, never by colour; the tail is always
on the left and the rim on the right. The abscissa is arc length, because the last centimetre of z holds half
of a flare; its ticks are labelled with what a maker can find, z and the diameter there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from springfit.decisions.verdict.reasons import ProcessFault
from springfit.flag_runs import runs_of_true
from springfit.reporting.figures.bell_axes import STYLE, along_bell, in_unit, key_above
from springfit.reporting.figures.bell_marks import draw_measured
from springfit.reporting.wording.length_wording import Units, amount, place, small_unit
from springfit.reporting.wording.places import diameter_at, row_at
from springfit.reporting.wording.zones import is_cut, is_masked

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from springfit.decisions.correction import Correction

__all__ = ["correction_picture", "draw_error"]

Array = npt.NDArray[np.float64]

_BAND: dict[str, Any] = {"color": "0.82", "linewidth": 0}  # light enough for a line over it
# Told apart without colour, by eye: the forecast is the widest.
_LINES: tuple[tuple[str, float, Any, str], ...] = (  # column, width, dashes, name
    ("error_mm", 2.8, "-", "forecast"),
    ("error_steel_mm", 1.5, (0, (7, 3)), "steel"),
    ("error_springback_mm", 1.5, (0, (8, 2, 1.5, 2)), "springback"),
    ("error_unexplained_mm", 2.0, (0, (1.2, 1.6)), "unexplained"),
)
_WIDE, _NARROW = (7.6, 3.5), (4.1, 6.2)  # inches: a page between its margins, a phone held upright
_BEHIND = 2  # lines that stand behind what was measured: the forecast and the steel's part; the others are in a table
_DRAWN = (
    "error_mm",
    "error_lo_mm",
    "error_hi_mm",
    "error_steel_mm",
    "error_springback_mm",
    "error_unexplained_mm",
)
# Shares of the axes, for the word at the largest error; by eye.
_WORD_AWAY, _WORD_WIDTH, _WORD_HEIGHTS = 0.08, 0.28, (0.94, 0.82, 0.18, 0.06)


def correction_picture(correction: Correction, *, units: Units, narrow: bool = False) -> Figure:
    """The profile with where to cut; below it the error along the bell, its parts, band and tolerance.

    narrow: drawn for a telephone held upright, 390 px wide, with letters as large as on paper.
    """
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=_NARROW if narrow else _WIDE, layout="constrained")
        columns = 1 if narrow else 2  # the key stands beside the profile where there is room
        ratios = (1.0, 3.2) if narrow else (1.0, 2.0)
        grid = figure.add_gridspec(2, columns, height_ratios=ratios, width_ratios=(1.15, 1.0)[:columns])
        above, below = figure.add_subplot(grid[0, 0]), figure.add_subplot(grid[1, :])
        _draw_profile(above, correction, units)
        _draw_error(below, correction, units, ticks=4 if narrow else 7)
        if narrow:
            key_above(below, columns=2, left=-0.2)
        else:
            _key_beside(figure.add_subplot(grid[0, 1]), below)
        _mark(below, correction, units)
    return figure


def _key_beside(axes: Axes, drawn: Axes) -> None:
    """The key of `drawn` on axes of its own."""
    axes.set_axis_off()
    axes.legend(
        *drawn.get_legend_handles_labels(), loc="center", ncols=2, frameon=False, handlelength=2.8, columnspacing=1.1,
        labelspacing=0.35, borderaxespad=0.0, fontsize=10,
    )  # fmt: skip


def _draw_profile(axes: Axes, correction: Correction, units: Units) -> None:
    """The present steel to scale above its axis, the cut drawn heavy and the place of a fault grey, each named."""
    stations = correction.stations
    z, r = stations["z_mm"].to_numpy(float), stations["present_diameter_mm"].to_numpy(float) / 2.0
    axes.fill_between(z, 0.0, r, color="0.93", linewidth=0)
    axes.plot(z, r, color="black", linewidth=1.2)
    axes.plot([z[0], z[-1]], [0.0, 0.0], color="black", linewidth=0.8, linestyle=(0, (12, 3, 2, 3)))
    for first, last in runs_of_true(is_cut(stations)):
        axes.plot(
            z[first : last + 1], r[first : last + 1], color="black", linewidth=6.0, solid_capstyle="butt"
        )
    fault = _fault_of(correction)
    if fault is not None:
        at_fault = (z >= fault.z_from_mm) & (z <= fault.z_to_mm)
        axes.plot(z[at_fault], r[at_fault], color="0.5", linewidth=6.0, solid_capstyle="butt")
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_axis_off()
    axes.set_title(_profile_words(correction, units), loc="left", fontsize=11)
    if is_cut(stations).any():
        deepest = correction.verdict.largest_cut_at_mm
        over = diameter_at(stations, deepest) / 2.0 + 0.14 * float(np.nanmax(r))
        axes.plot(deepest, over, marker="v", markersize=8, color="black")
    axes.text(z[0], -0.05 * float(np.nanmax(r)), "TAIL", ha="left", va="top", fontweight="bold")
    axes.text(z[-1], -0.05 * float(np.nanmax(r)), "RIM", ha="right", va="top", fontweight="bold")


def _profile_words(correction: Correction, units: Units) -> str:
    """What is cut and where it is deepest, or that nothing is; and where a fault of the spinning lies."""
    stations, verdict, words = correction.stations, correction.verdict, "no steel to cut"
    if is_cut(stations).any():
        z = verdict.largest_cut_at_mm
        words = (
            f"heavy line: cut here; \u25bc deepest, {amount(verdict.largest_cut_mm, units)}\n"
            f"per side, at z {place(z, units)}, Ø {place(diameter_at(stations, z), units)} {units}"
        )
    fault = _fault_of(correction)
    if fault is None:
        return words
    ends = f"z {place(fault.z_from_mm, units)} to {place(fault.z_to_mm, units)} {units}"
    return f"{words}; grey: fault in the\nspinning, {ends}"


def _fault_of(correction: Correction) -> ProcessFault | None:
    """The fault that the verdict rests on, where it is one of a stretch."""
    reason = correction.verdict.reason
    return reason if isinstance(reason, ProcessFault) else None


def draw_error(axes: Axes, correction: Correction, *, units: Units) -> None:
    """Total error with its band, its three parts, the tolerance, and the stretches that are not judged."""
    _draw_error(axes, correction, units, ticks=7)
    key_above(axes, columns=4)


def _draw_error(axes: Axes, correction: Correction, units: Units, *, ticks: int) -> None:
    """The same without its key."""
    unit, stations = small_unit(units), correction.stations
    s, masked = stations["s_mm"].to_numpy(float), is_masked(stations)

    def seen(column: str) -> Array:
        return np.where(masked, np.nan, in_unit(unit, stations[column].to_numpy(float)))

    axes.fill_between(s, seen("error_lo_mm"), seen("error_hi_mm"), label="nine in ten", **_BAND)
    for column, width, dashes, label in _LINES[: _BEHIND if len(correction.measured) else None]:
        axes.plot(s, seen(column), color="black", linewidth=width, linestyle=dashes, label=label)
    low, high = axes.get_ylim()
    if len(correction.measured):
        draw_measured(axes, correction.measured, units=units)
        axes.set_ylim(*_room_for(in_unit(unit, correction.measured["measured_error_mm"]), low, high))
    axes.axhline(0.0, color="black", linewidth=0.8)
    for side in (-correction.job.tolerance_mm, correction.job.tolerance_mm):
        axes.axhline(
            float(in_unit(unit, side)), color="0.35", linewidth=0.9, label="tolerance" if side > 0 else None
        )
    _hatch(axes, s, masked)
    along_bell(
        axes, s, stations["z_mm"].to_numpy(float), stations["present_diameter_mm"].to_numpy(float), units, ticks=ticks
    )  # fmt: skip
    axes.set_ylabel(f"per side [{unit}]\nbell small  –   0   +  bell large")


def _room_for(marks: Array, low: float, high: float) -> tuple[float, float]:
    """The ordinates with room for every mark; a band far wider than the marks is cut off by the frame."""
    least, most = float(np.min(marks)), float(np.max(marks))
    span = max(most, 0.0) - min(least, 0.0)
    return max(min(low, least - 0.3 * span), least - 3.0 * span), min(max(high, most + 0.3 * span), most + 3.0 * span)


def _hatch(axes: Axes, s: Array, masked: npt.NDArray[np.bool_]) -> None:
    """Hatching over the stretches that are not judged, named once."""
    for number, (first, last) in enumerate(runs_of_true(masked)):
        edges = (s[max(first - 1, 0)], s[min(last + 1, s.size - 1)])
        axes.axvspan(
            *edges,
            facecolor="none",
            edgecolor="0.55",
            hatch="///",
            linewidth=0.0,
            label="not judged" if number == 0 else None,
        )


def _mark(axes: Axes, correction: Correction, units: Units) -> None:
    """A ring and a word at the largest error."""
    stations, verdict = correction.stations, correction.verdict
    if not np.isfinite(verdict.largest_error_at_mm):
        return
    s = float(stations["s_mm"].iloc[row_at(stations, verdict.largest_error_at_mm)])
    height = float(in_unit(small_unit(units), verdict.largest_error_mm))
    axes.plot(
        s, height, marker="o", markersize=11, markerfacecolor="none", color="black", markeredgewidth=1.6
    )
    length = float(stations["s_mm"].iloc[-1])
    to_left = s > 0.4 * length
    near, far = _WORD_AWAY * length, (_WORD_AWAY + _WORD_WIDTH) * length
    span = (s - far, s - near) if to_left else (s + near, s + far)
    axes.annotate(
        f"largest {amount(verdict.largest_error_mm, units, signed=True)}",
        (s, height),
        xytext=(
            span[1] / length if to_left else span[0] / length,
            _free_height(axes, correction, span, units),
        ),
        textcoords="axes fraction",
        ha="right" if to_left else "left",
        va="center",
        fontsize=12,
        fontweight="bold",
        arrowprops={"arrowstyle": "-", "color": "black", "linewidth": 0.9, "shrinkB": 6},
    )


def _free_height(axes: Axes, correction: Correction, span: tuple[float, float], units: Units) -> float:
    """The height, as a share of the axes', furthest from every line over a span of arc lengths [mm]."""
    stations, tolerance = correction.stations, correction.job.tolerance_mm
    beside = stations["s_mm"].between(*span).to_numpy() & ~is_masked(stations)
    drawn = stations.loc[beside, list(_DRAWN)].to_numpy(float).ravel()
    lines = np.concatenate((drawn[np.isfinite(drawn)], [-tolerance, 0.0, tolerance]))
    bottom, top = axes.get_ylim()
    taken = (in_unit(small_unit(units), lines) - bottom) / (top - bottom)
    return max(_WORD_HEIGHTS, key=lambda height: float(np.min(np.abs(taken - height))))
