"""The pictures of the reports: the bell's error from tail to rim, and the profile with the place to cut.

Black ink on white. Lines are told apart by their dashes and their weight, never by colour; the tail is always
on the left and the rim on the right. The abscissa is arc length, because the last centimetre of z holds half
of a flare; its ticks are labelled with what a maker can find, z and the diameter there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from springfit.lengths import from_mm
from springfit.reporting.amounts import Units, amount, place
from springfit.reporting.places import diameter_at, row_at
from springfit.reporting.zones import is_cut, is_masked, runs

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from springfit.decisions.correction import Correction
    from springfit.decisions.forecast import Forecast

__all__ = ["correction_picture", "forecast_picture"]

Array = npt.NDArray[np.float64]

_STYLE: dict[Any, Any] = {
    "font.family": "DejaVu Sans",
    "font.size": 11,
    "axes.linewidth": 0.9,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "hatch.linewidth": 0.5,
    "hatch.color": "0.55",
    "svg.fonttype": "path",
    "svg.hashsalt": "springfit",
}
_BAND: dict[str, Any] = {"color": "0.82", "linewidth": 0}
_STEEL, _SPRINGBACK, _UNEXPLAINED = (0, (7, 3)), (0, (8, 2, 1.5, 2)), (0, (1.2, 1.6))
_TICKS = 7


def correction_picture(correction: Correction, *, units: Units) -> Figure:
    """The profile with where to cut; below it the error along the bell, its parts, band and tolerance."""
    import matplotlib
    from matplotlib.figure import Figure

    stations = correction.stations
    with matplotlib.rc_context(_STYLE):
        figure = Figure(figsize=(7.6, 4.35), layout="constrained")
        above, below = figure.subplots(2, 1, height_ratios=(1.0, 2.1))
        _draw_profile(above, correction, units)
        _draw_error(below, stations, correction.tolerance_mm, units)
        _mark(below, correction, units)
    return figure


def forecast_picture(forecast: Forecast, *, units: Units) -> Figure:
    """The gap of a forecast along the bell with the bands of a batch mean and of one bell, and its shape."""
    import matplotlib
    from matplotlib.figure import Figure

    unit = _small_unit(units)
    s = forecast.meridian.s
    with matplotlib.rc_context(_STYLE):
        figure = Figure(figsize=(7.6, 4.2), layout="constrained")
        axes = figure.subplots()
        bell, mean = forecast.bell_band(0.9), forecast.mean_band(0.9)
        axes.fill_between(
            s, _in(unit, bell[0]), _in(unit, bell[1]), color="0.90", linewidth=0, label="one bell, 90 %"
        )
        axes.fill_between(
            s, _in(unit, mean[0]), _in(unit, mean[1]), color="0.72", linewidth=0, label="batch mean, 90 %"
        )
        axes.plot(s, _in(unit, forecast.gap_mm), color="black", linewidth=2.6, label="gap")
        axes.plot(
            s,
            _in(unit, forecast.shape_mm),
            color="black",
            linewidth=1.5,
            linestyle=_STEEL,
            label="shape left after a slide",
        )
        _along_bell(axes, s, forecast.meridian.z, 2.0 * forecast.meridian.r, units)
        axes.set_ylabel(f"gap per side [{unit}]\n+ bell larger than mandrel")
        axes.axhline(0.0, color="black", linewidth=0.8)
        _legend(axes, columns=2)
    return figure


def _draw_profile(axes: Axes, correction: Correction, units: Units) -> None:
    """The present steel to scale above its axis, the cut drawn heavy, the deepest cut named."""
    stations = correction.stations
    z, r = stations["z_mm"].to_numpy(float), stations["present_diameter_mm"].to_numpy(float) / 2.0
    axes.fill_between(z, 0.0, r, color="0.93", linewidth=0)
    axes.plot(z, r, color="black", linewidth=1.2)
    axes.plot([z[0], z[-1]], [0.0, 0.0], color="black", linewidth=0.8, linestyle=(0, (12, 3, 2, 3)))
    for first, last in runs(is_cut(stations)):
        axes.plot(
            z[first : last + 1], r[first : last + 1], color="black", linewidth=6.0, solid_capstyle="butt"
        )
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_axis_off()
    _name_the_cut(axes, correction, (z[0], float(np.nanmax(r))), units)
    axes.text(z[0], -0.05 * float(np.nanmax(r)), "TAIL", ha="left", va="top", fontweight="bold")
    axes.text(z[-1], -0.05 * float(np.nanmax(r)), "RIM", ha="right", va="top", fontweight="bold")


def _name_the_cut(axes: Axes, correction: Correction, corner: tuple[float, float], units: Units) -> None:
    """An arrow from the corner to the deepest cut with amount and place, or the words that there is none."""
    stations, verdict = correction.stations, correction.verdict
    if not is_cut(stations).any():
        axes.text(*corner, "no steel to cut", ha="left", va="top", fontsize=13)
        return
    z = verdict.largest_cut_at_mm
    diameter = diameter_at(stations, z)
    words = (
        f"heavy line: cut here\ndeepest {amount(verdict.largest_cut_mm, units)} per side\n"
        f"at z {place(z, units)}, Ø {place(diameter, units)} {units}"
    )
    arrow = {"arrowstyle": "-|>", "color": "black", "linewidth": 1.2, "shrinkB": 4}
    axes.annotate(
        words, (z, diameter / 2.0), xytext=corner, ha="left", va="top", fontsize=12, arrowprops=arrow
    )


def _draw_error(axes: Axes, stations: pd.DataFrame, tolerance_mm: float, units: Units) -> None:
    """Total error with its band, its three parts, the tolerance, and the stretches that are not judged."""
    unit = _small_unit(units)
    s = stations["s_mm"].to_numpy(float)
    masked = is_masked(stations)

    def seen(column: str) -> Array:
        return np.where(masked, np.nan, _in(unit, stations[column].to_numpy(float)))

    axes.fill_between(s, seen("error_lo_mm"), seen("error_hi_mm"), label="90 % band", **_BAND)
    axes.plot(s, seen("error_mm"), color="black", linewidth=2.8, label="bell error")
    axes.plot(s, seen("error_steel_mm"), color="black", linewidth=1.5, linestyle=_STEEL, label="steel")
    axes.plot(
        s,
        seen("error_springback_mm"),
        color="black",
        linewidth=1.5,
        linestyle=_SPRINGBACK,
        label="springback",
    )
    axes.plot(
        s,
        seen("error_unexplained_mm"),
        color="black",
        linewidth=2.0,
        linestyle=_UNEXPLAINED,
        label="unexplained",
    )
    axes.axhline(0.0, color="black", linewidth=0.8)
    for side in (-tolerance_mm, tolerance_mm):
        axes.axhline(
            float(_in(unit, side)), color="0.35", linewidth=0.9, label="tolerance" if side > 0 else None
        )
    for number, (first, last) in enumerate(runs(masked)):
        edges = (s[max(first - 1, 0)], s[min(last + 1, s.size - 1)])
        axes.axvspan(
            *edges,
            facecolor="none",
            edgecolor="0.55",
            hatch="///",
            linewidth=0.0,
            label="not judged" if number == 0 else None,
        )
    _along_bell(
        axes, s, stations["z_mm"].to_numpy(float), stations["present_diameter_mm"].to_numpy(float), units
    )
    axes.set_ylabel(f"per side [{unit}]\nbell small  –   0   +  bell large")
    _legend(axes, columns=4)


def _mark(axes: Axes, correction: Correction, units: Units) -> None:
    """A ring and a word at the largest error."""
    stations, verdict = correction.stations, correction.verdict
    if not np.isfinite(verdict.largest_error_at_mm):
        return
    s = float(stations["s_mm"].iloc[row_at(stations, verdict.largest_error_at_mm)])
    height = float(_in(_small_unit(units), verdict.largest_error_mm))
    axes.plot(
        s, height, marker="o", markersize=11, markerfacecolor="none", color="black", markeredgewidth=1.6
    )
    inward = -14 if s > 0.4 * float(stations["s_mm"].iloc[-1]) else 14  # points, away from the nearer end
    axes.annotate(
        f"largest {amount(verdict.largest_error_mm, units, signed=True)}",
        (s, height),
        xytext=(inward, 0),
        textcoords="offset points",
        ha="right" if inward < 0 else "left",
        va="center",
        fontsize=12,
        fontweight="bold",
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5},
    )


def _along_bell(axes: Axes, s: Array, z: Array, diameter: Array, units: Units) -> None:
    """Ticks from tail to rim with z and the diameter found there."""
    ticks = np.linspace(s[0], s[-1], _TICKS)
    labels = [
        f"{place(np.interp(tick, s, z), units)}\n{place(np.interp(tick, s, diameter), units)}"
        for tick in ticks
    ]
    labels[0] = "\n".join(
        f"{name} {value}" for name, value in zip(("z", "Ø"), labels[0].split("\n"), strict=True)
    )
    axes.set_xlim(float(s[0]), float(s[-1]))
    axes.set_xticks(ticks, labels)
    axes.set_xlabel(f"TAIL   ←   along the bell, z and diameter Ø [{units}]   →   RIM")


def _legend(axes: Axes, *, columns: int) -> None:
    """The key above the plot, with handles long enough to tell the dashes apart."""
    axes.legend(
        loc="lower left",
        bbox_to_anchor=(0.0, 1.01),
        ncols=columns,
        frameon=False,
        handlelength=2.8,
        columnspacing=1.1,
        borderaxespad=0.0,
        fontsize=10,
    )


def _small_unit(units: Units) -> str:
    """The unit of small amounts: thou beside inches, mm otherwise."""
    return "thou" if units == "in" else "mm"


def _in(unit: str, length_mm: Any) -> Array:
    """Lengths in mm as an array in `unit`."""
    return np.asarray(length_mm, dtype=float) * from_mm(1.0, unit)
