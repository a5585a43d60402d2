"""A mandrel's history as one timeline: the gap of each zone by batch, revisions as lines across, states as marks."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Any

import numpy as np

from springfit.reporting.figures.bell_axes import STYLE, in_unit, key_above
from springfit.reporting.wording.length_wording import Units, amount, small_unit
from springfit.watching.batches.bell_zones import ZONES

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from springfit.watching.history import MandrelHistory

__all__ = ["history_picture"]

# Told apart without colour; lengths of line and gap in line widths, by eye.
_DASHES: tuple[Any, ...] = (
    "-", (0, (6, 2)), (0, (1, 1)), (0, (4, 1.5, 1, 1.5)), (0, (8, 3, 1, 3, 1, 3)), (0, (2.5, 2.5)),
)  # fmt: skip
_MARKS = ("o", "s", "^", "D", "v", "P")
_MARGIN_DAYS, _MARGIN_SHARE = 20.0, 0.05  # at the ends of time, of the days shown at least: a word stands there
_MONTHS_APART = (1, 2, 3, 4, 6, 12, 24, 60, 120, 240)  # of dates below
_LONG_DOTS, _DATE = 500.0, 0.09  # an axis longer than this has room for many dates; one of them, as a share of it
_NARROW_FRAME = (0.2, 0.11, 0.77, 0.67)
_FRAME = (0.075, 0.11, 0.91, 0.76)  # of the picture: left, below, wide, high; to have them found costs a drawing more


def history_picture(history: MandrelHistory, *, units: Units, narrow: bool = False) -> Figure:
    """Mean gap of every zone over time with what batches differ by (1 sd, grey), states by word, and the revisions;
    narrow: for a telephone."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context({**STYLE, "font.size": 9}):
        figure = Figure(figsize=(4.1, 2.7) if narrow else (7.6, 2.5))
        axes = figure.add_axes(_NARROW_FRAME if narrow else _FRAME)
        _draw_zones(axes, history, units)
        _draw_revisions(axes, history, units)
        axes.axhline(0.0, color="black", linewidth=0.6)
        axes.set_ylabel(f"gap [{small_unit(units)}]")
        if history.batches:
            key_above(axes, columns=3 if narrow else 7)
    return figure


def _draw_zones(axes: Axes, history: MandrelHistory, units: Units) -> None:
    unit, days = small_unit(units), [_day(batch.judged.spun_on) for batch in history.batches]
    for number, zone in enumerate(ZONES):
        rows = [(day, z) for day, batch in zip(days, history.batches, strict=True) for z in batch.zones
                if z.score.zone == zone]  # fmt: skip
        if not rows:
            continue
        gaps = in_unit(unit, np.array([z.score.measured for _, z in rows]))
        sure = in_unit(unit, np.array([z.score.shift_sd for _, z in rows]))
        axes.errorbar([d for d, _ in rows], gaps, yerr=sure, fmt="none", ecolor="0.6", elinewidth=0.7)
        axes.plot([d for d, _ in rows], gaps, color="black", linewidth=0.7, linestyle=_DASHES[number],
                  marker=_MARKS[number], markersize=4.5, markerfacecolor="white", label=zone)  # fmt: skip
    for day, batch in zip(days, history.batches, strict=True):
        if batch.state != "usual":
            axes.annotate(
                batch.state.upper(), (day, 0.98), xycoords=("data", "axes fraction"), ha="center", va="top",
                fontsize=8, fontweight="bold", bbox={"fc": "white", "ec": "black", "pad": 1.5},
            )  # fmt: skip
    if days:
        last = [_day(one.day) for one in history.revisions[1:]]
        first, final = min([*days, *last]), max([*days, *last])
        margin = max(_MARGIN_DAYS, _MARGIN_SHARE * (final - first))
        axes.set_xlim(first - margin, final + margin)
        _mark_time(axes)


def _mark_time(axes: Axes) -> None:
    """A few dates below, each whole within the picture, and round numbers at the side."""
    from matplotlib.dates import DateFormatter
    from matplotlib.ticker import MaxNLocator

    wide = axes.bbox.width > _LONG_DOTS
    low, high = axes.get_xlim()
    room = (0.5 if wide else 1.0) * _DATE * (high - low)
    axes.set_xticks(_months(low + room, high - room, most=8 if wide else 4))
    axes.xaxis.set_major_formatter(DateFormatter("%Y-%m"))
    axes.yaxis.set_major_locator(MaxNLocator(nbins="auto", steps=[1, 2, 5, 10]))


def _months(low: float, high: float, *, most: int) -> list[float]:
    """Days that begin a month, evenly apart and at most so many between two days; the middle where no month begins."""
    from matplotlib.dates import num2date

    first, last = (12 * day.year + day.month - 1 for day in map(num2date, (low, high)))
    days = {month: _day(f"{month // 12:04d}-{month % 12 + 1:02d}-01") for month in range(first, last + 1)}
    for step in _MONTHS_APART:
        told = [day for month, day in days.items() if month % step == 0 and low <= day <= high]
        if len(told) <= most:
            break
    return told or [0.5 * (low + high)]


def _draw_revisions(axes: Axes, history: MandrelHistory, units: Units) -> None:
    """A line across for each later revision, with the cut that was found."""
    for one in history.revisions[1:]:
        axes.axvline(_day(one.day), color="black", linewidth=1.3)
        cut = f", {amount(one.found, units)} off" if np.isfinite(one.found) and one.found > 0 else ""
        axes.annotate(
            f"rev {one.revision}{cut}", (_day(one.day), 0.02), xycoords=("data", "axes fraction"), rotation=90,
            xytext=(-3, 0), textcoords="offset points", fontsize=8, ha="right", va="bottom",
            bbox={"fc": "white", "ec": "none", "pad": 1.0},
        )  # fmt: skip


def _day(text: str) -> float:
    """A day as matplotlib counts them."""
    from matplotlib.dates import date2num

    return float(date2num(datetime.datetime.fromisoformat(text[:10])))
