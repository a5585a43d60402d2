"""The picture of a survey: originals laid over the common line, magnified along the normal; below it the curvature.

Black ink on white: specimens are told apart by dashes, the odd one by its weight. The abscissa is arc length, as in
every picture along a bell.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from springfit.flag_runs import runs_of_true
from springfit.lengths import from_mm
from springfit.normal_errors import BAND_90
from springfit.reporting.figures.bell_axes import NARROW, STYLE, along_bell, in_unit, key_above
from springfit.reporting.wording.length_wording import Units, amount, small_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from springfit.survey.family_survey import Survey

__all__ = ["survey_picture"]

# Told apart without colour; lengths of line and gap in line widths, by eye.
_DASHES: tuple[Any, ...] = (
    "-", (0, (7, 2)), (0, (4, 1.5, 1, 1.5)), (0, (1, 1.2)), (0, (10, 3, 1, 3, 1, 3)), (0, (3, 3)),
)  # fmt: skip
_LEAST_RANGE = (
    0.05  # [mm] either way of the overlay: two thou, so that a family that agrees looks as if it did
)
_CURVATURE_SHARE = 97.0  # per cent of the curvature that is shown: the rim's own steep rise would hide facets; by eye


def survey_picture(survey: Survey, *, units: Units, narrow: bool = False) -> Figure:
    """Overlay and curvature, one above the other; narrow: for a telephone."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(NARROW[0], 7.2) if narrow else (7.6, 6.1), layout="constrained")
        above, below = figure.subplots(2, 1, height_ratios=(1.5, 1.0))
        _draw_overlay(above, survey, units, narrow)
        _draw_curvature(below, survey, units, narrow)
    return figure


def _draw_overlay(axes: Axes, survey: Survey, units: Units, narrow: bool) -> None:
    """Normal departures of every specimen from the common line, with the band that holds nine specimens of ten."""
    unit, spread, lined = small_unit(units), survey.spread, survey.consensus.lined
    reach = max(_LEAST_RANGE, 4.0 * survey.tolerance)
    if np.isfinite(spread.between).any():
        half = in_unit(unit, BAND_90 * np.hypot(spread.between, spread.shape_error))
        axes.fill_between(spread.s, -half, half, color="0.86", linewidth=0, label="nine of ten")
    for number, (one, difference) in enumerate(
        zip(survey.consensus.specimens, survey.differences, strict=True)
    ):
        on = np.isfinite(lined.arc[number])
        arc = lined.arc[number][on]
        away = in_unit(unit, lined.off[number][on] + lined.waved(number, arc))
        axes.plot(
            arc, away, color="black", linewidth=2.2 if difference.odd else 1.1,
            linestyle=_DASHES[number % len(_DASHES)], label=one.specimen_id,
        )  # fmt: skip
    limit = float(in_unit(unit, reach))
    axes.set_ylim(-limit, limit)
    axes.axhline(0.0, color="black", linewidth=0.8)
    _shade(axes, survey)
    _name_what_leaves(axes, survey, reach, units)
    _mark_facets(axes, survey)
    line = survey.stations
    along_bell(axes, line.s, line.z, 2.0 * line.r, units, ticks=4 if narrow else 7)
    axes.set_ylabel(f"off the common line [{unit}]\nsmall  –   0   +  large")
    key_above(axes, columns=3 if narrow else 7)


def _draw_curvature(axes: Axes, survey: Survey, units: Units, narrow: bool) -> None:
    """Curvature of the common line, its joins as ticks."""
    line = survey.stations
    curvature = line.curvature * from_mm(1.0, "mm") / from_mm(1.0, units)
    axes.plot(line.s, curvature, color="black", linewidth=1.8, label="curvature of the common line")
    low, high = float(np.min(curvature)), float(np.percentile(curvature, _CURVATURE_SHARE))
    room = 0.12 * (high - low)
    axes.set_ylim(low - room, high + 2 * room)
    axes.axhline(0.0, color="black", linewidth=0.8)
    for number, piece in enumerate(survey.pieces[1:]):
        axes.axvline(
            piece.start, color="0.45", linewidth=0.9, linestyle=(0, (2, 2)),
            label="a join of pieces" if number == 0 else None,
        )  # fmt: skip
    _mark_facets(axes, survey)
    along_bell(axes, line.s, line.z, 2.0 * line.r, units, ticks=4 if narrow else 7)
    axes.set_ylabel(f"curvature [1/{units}]")
    key_above(axes, columns=1 if narrow else 2)


def _mark_facets(axes: Axes, survey: Survey) -> None:
    """A number at the head of the plot over each facet."""
    for number, shared in enumerate(survey.facets, start=1):
        axes.annotate(
            f"{number}", (shared.facet.s, 0.99), xycoords=("data", "axes fraction"), ha="center", va="top",
            fontsize=10, fontweight="bold", bbox={"boxstyle": "circle,pad=0.2", "fc": "white", "ec": "black"},
        )  # fmt: skip


def _shade(axes: Axes, survey: Survey) -> None:
    """Hatching where too few specimens agree."""
    for number, (first, last) in enumerate(runs_of_true(survey.spread.masked)):
        axes.axvspan(
            survey.spread.s[first], survey.spread.s[last], facecolor="none", edgecolor="0.55", hatch="///",
            linewidth=0.0, label="too few agree" if number == 0 else None,
        )  # fmt: skip


def _name_what_leaves(axes: Axes, survey: Survey, reach: float, units: Units) -> None:
    """A word where a specimen leaves the plot."""
    for difference in survey.differences:
        for departure in difference.departures:
            if abs(departure.amount) > reach:
                inward = departure.amount < 0
                axes.annotate(
                    f"{difference.specimen_id} {amount(departure.amount, units, signed=True)}",
                    (departure.s, 0.04 if inward else 0.86), xycoords=("data", "axes fraction"),
                    xytext=(8, 0), textcoords="offset points", fontsize=10, fontweight="bold",
                    bbox={"fc": "white", "ec": "none", "pad": 1.0},
                )  # fmt: skip
