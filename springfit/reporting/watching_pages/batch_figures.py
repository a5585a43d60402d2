"""Pictures of a batch among its mandrel's: one thin line a bell, small multiples by batch; and the chart of its zones.

Black ink on white. Batches are told apart by dashes and marks as well as by their own frame; what was forecast is grey.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from springfit.normal_errors import BAND_90
from springfit.reporting.figures.bell_axes import STYLE, in_unit, key_above, round_places
from springfit.reporting.wording.length_wording import Units, place, small_unit
from springfit.watching.batches.bell_zones import ZONES
from springfit.watching.charts.control_chart import STOP, WATCH

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from springfit.watching.batch_states import BatchState
    from springfit.watching.batches.steel_line import SteelLine

__all__ = ["SHOWN", "chart_picture", "multiples_picture"]

SHOWN = 6  # newest batches of a mandrel that have a frame; two rows
_COLUMNS, _NARROW_COLUMNS = 3, 1  # frames beside one another, on a wide page and on a telephone's
# Told apart without colour; lengths of line and gap in line widths, by eye.
_DASHES: tuple[Any, ...] = (
    "-", (0, (6, 2)), (0, (1, 1)), (0, (4, 1.5, 1, 1.5)), (0, (8, 3, 1, 3, 1, 3)), (0, (2.5, 2.5)),
)  # fmt: skip
_MARKS = ("o", "s", "^", "D", "v", "P")
_ROOM = 1.15  # of the height that is filled, for words above; by eye
_WIDE, _NARROW = 7.6, 4.1  # [in] of a picture: a page between its margins, a phone held upright
_LEFT, _RIGHT = 0.72, 0.1  # [in]: margins are given, to find them out costs a drawing more; by eye
_CHART, _KEY = 2.5, 0.32  # [in] of a chart, its key above it; by eye
_FINE = 200  # places that z is asked for along a bell
_FRAME, _TITLE, _FOOT = 1.3, 0.5, 0.5  # [in] of one frame, what stands above it, and below the lowest; by eye


def multiples_picture(batches: Sequence[BatchState], *, units: Units, narrow: bool = False) -> Figure:
    """The newest batches of one mandrel, oldest first, a frame each on the same axes; narrow: for a telephone."""
    import matplotlib
    from matplotlib.figure import Figure

    shown = batches[-SHOWN:]
    columns, wide_in = (_NARROW_COLUMNS, _NARROW) if narrow else (_COLUMNS, _WIDE)
    rows = -(-len(shown) // columns)
    with matplotlib.rc_context({**STYLE, "font.size": 9}):
        high_in = (_FRAME + _TITLE) * rows + _FOOT
        figure = Figure(figsize=(wide_in, high_in))
        frames = figure.subplots(rows, columns, sharey=True, squeeze=False)
        figure.subplots_adjust(
            left=_LEFT / wide_in, right=1.0 - 2.0 * _RIGHT / wide_in,
            bottom=_FOOT / high_in, top=1.0 - _TITLE / high_in, wspace=0.16, hspace=_TITLE / _FRAME,
        )  # fmt: skip
        low, high = _range(shown, units)
        for number, axes in enumerate(frames.flat):
            if number >= len(shown):
                axes.set_axis_off()
                continue
            _draw_batch(axes, shown[number], number, units, newest=number == len(shown) - 1)
            axes.set_ylim(low, high)
            _along(axes, shown[-1].judged.steel, units, told=number + columns >= len(shown))
        for row in frames:
            row[0].set_ylabel(f"gap [{small_unit(units)}]")
    return figure


def _draw_batch(axes: Axes, batch: BatchState, number: int, units: Units, *, newest: bool) -> None:
    """Bells of one batch as thin lines, the forecast for them with its 90 % band in grey behind."""
    unit = small_unit(units)
    arc = np.concatenate([curve.arc for curve in batch.judged.curves])
    order = np.argsort(arc, kind="stable")
    expected, sd = (
        in_unit(unit, np.concatenate([getattr(curve, name) for curve in batch.judged.curves])[order])
        for name in ("expected", "sd")
    )
    axes.fill_between(arc[order], expected - BAND_90 * sd, expected + BAND_90 * sd, color="0.85", linewidth=0)
    for curve in batch.judged.curves:
        axes.plot(
            curve.arc, in_unit(unit, curve.gap), color="black" if newest else "0.25", linewidth=0.7,
            linestyle=_DASHES[number % len(_DASHES)], marker=_MARKS[number % len(_MARKS)], markersize=2.2,
            markevery=max(len(curve.arc) // 6, 1), markerfacecolor="white", markeredgewidth=0.6,
        )  # fmt: skip
    axes.axhline(0.0, color="black", linewidth=0.6)
    one = batch.judged
    said = "" if batch.state == "usual" else f"  {batch.state.upper()}"
    axes.set_title(
        f"{one.batch_id}{said}\n{one.spun_on}, rev {one.revision}{', seat unsure' if batch.by_envelope else ''}",
        fontsize=9, loc="left", fontweight="bold" if newest else "normal",
    )  # fmt: skip


def _range(shown: Sequence[BatchState], units: Units) -> tuple[float, float]:
    """Ordinates that hold all but the wildest readings. Of a first batch's seat little was known: others set them."""
    shown = [batch for batch in shown if not batch.by_envelope] or shown
    gaps = np.concatenate([curve.gap for batch in shown for curve in batch.judged.curves])
    bands = np.concatenate([curve.expected for batch in shown for curve in batch.judged.curves])
    low, high = np.percentile(gaps, (0.5, 99.5))
    low, high = min(low, bands.min(), 0.0), max(high, bands.max(), 0.05)
    unit, room = small_unit(units), (_ROOM - 1.0) * (high - low)
    return float(in_unit(unit, low - room)), float(in_unit(unit, high + room))


def _along(axes: Axes, steel: SteelLine, units: Units, *, told: bool) -> None:
    """Four ticks along the bell, at round z between the ends, `told` by it where no frame stands below."""
    fine = np.linspace(0.0, steel.length, _FINE)
    arcs = round_places(fine, steel.z_at(fine), units, ticks=4)
    axes.set_xticks(arcs, [place(float(z), units) if told else "" for z in steel.z_at(arcs)])
    labels = axes.get_xticklabels()
    labels[0].set_horizontalalignment("left")
    labels[-1].set_horizontalalignment("right")
    axes.set_xlim(0.0, steel.length)
    if told:
        axes.set_xlabel(f"z [{units}], tail to rim", fontsize=8)


def chart_picture(batches: Sequence[BatchState], *, units: Units, narrow: bool = False) -> Figure:
    """Every zone's shift of one mandrel's batches in their order, in times its usual size, with the limits of watch and
    stop; narrow: for a telephone."""
    import matplotlib
    from matplotlib.figure import Figure
    from matplotlib.ticker import MultipleLocator

    with matplotlib.rc_context({**STYLE, "font.size": 9}):
        wide, key = (_NARROW, 2.0 * _KEY) if narrow else (_WIDE, _KEY)
        figure = Figure(figsize=(wide, _CHART))
        axes = figure.add_axes((
            _LEFT / wide, _FOOT / _CHART, 1.0 - (_LEFT + _RIGHT) / wide, 1.0 - (_FOOT + key) / _CHART
        ))  # fmt: skip
        number = np.arange(len(batches), dtype=float)
        for index, zone in enumerate(ZONES):
            scores = np.array([_standard(batch, zone) for batch in batches])
            if np.isfinite(scores).any():
                axes.plot(
                    number + 0.05 * (index - 2.5), scores, color="black", linewidth=0.7,
                    linestyle=_DASHES[index], marker=_MARKS[index], markersize=4.5, markerfacecolor="white", label=zone,
                )  # fmt: skip
        for limit, dashes, word, up in ((WATCH, (0, (5, 3)), "watch", -1), (STOP, "-", "stop", 1)):
            for side in (-1.0, 1.0):
                axes.axhline(side * limit, color="0.35", linewidth=0.9, linestyle=dashes)
            axes.annotate(
                word, (0.005, limit), xycoords=("axes fraction", "data"), xytext=(0, 2 * up),
                textcoords="offset points", fontsize=8, va="bottom" if up > 0 else "top",
            )  # fmt: skip
        axes.axhline(0.0, color="black", linewidth=0.6)
        axes.set_xticks(number, [_short(batch.judged.batch_id) for batch in batches], rotation=30, ha="right")
        axes.set_xlim(-0.5, max(len(batches) - 0.5, 0.5))
        axes.set_ylim(-8.2 if _furthest(batches) > 5 else -5.0, 8.2 if _furthest(batches) > 5 else 5.0)
        axes.yaxis.set_major_locator(MultipleLocator(2.0))
        axes.set_ylabel("times the usual\nsmaller – 0 + larger")
        key_above(axes, columns=3 if narrow else 6)
    return figure


def _standard(batch: BatchState, zone: str) -> float:
    return next((one.standard for one in batch.zones if one.score.zone == zone), float("nan"))


def _furthest(batches: Sequence[BatchState]) -> float:
    values = [abs(zone.standard) for batch in batches for zone in batch.zones if np.isfinite(zone.standard)]
    return max(values, default=0.0)


def _short(name: str) -> str:
    return name if len(name) <= 12 else f"{name[:11]}…"
