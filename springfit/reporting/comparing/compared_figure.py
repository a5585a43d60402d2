"""The picture of several ways to spin one mandrel: their gaps on one another, and each one's difference to the first.

Told apart by their dashes, so that a copy in black and white says as much.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from springfit.normal_errors import BAND_LEVEL
from springfit.reporting.figures.bell_axes import NARROW, STYLE, along_bell, in_unit, key_above
from springfit.reporting.wording.length_wording import Units, small_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from springfit.decisions.compared_conditions import Difference
    from springfit.decisions.forecast import Forecast

__all__ = ["compared_picture"]

# Told apart without colour; lengths of line and gap in line widths, by eye.
_DASHES: tuple[Any, ...] = ("-", (0, (6, 2)), (0, (1.5, 1.5)), (0, (8, 2, 1.5, 2)), (0, (3, 1, 1, 1, 1, 1)))


def compared_picture(
    forecasts: Sequence[Forecast], differences: Sequence[Difference], *, units: Units, narrow: bool = False
) -> Figure:
    """Above, the gap of every forecast; below, the differences to the first with their bands; narrow: for a
    telephone."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(NARROW[0], 7.6) if narrow else (7.6, 6.6), layout="constrained")
        above, below = figure.subplots(2, 1, sharex=True)
        _gaps(above, forecasts, units, columns=2 if narrow else 4)
        _differences(below, differences, units)
        longest = max((one.meridian for one in forecasts), key=lambda steel: steel.length)
        along_bell(below, longest.s, longest.z, 2.0 * longest.r, units, ticks=4 if narrow else 7)
    return figure


def _gaps(axes: Axes, forecasts: Sequence[Forecast], units: Units, *, columns: int) -> None:
    from matplotlib.ticker import MaxNLocator

    unit = small_unit(units)
    for number, one in enumerate(forecasts):
        axes.plot(one.meridian.s, in_unit(unit, one.gap), color="black", linewidth=2.2 if number == 0 else 1.7,
                  linestyle=_dashes(number), label=one.name)  # fmt: skip
    axes.axhline(0.0, color="black", linewidth=0.8)
    axes.set_ylabel(f"gap per side [{unit}]\n+ bell larger than mandrel")
    axes.tick_params(labelbottom=False)
    key_above(axes, columns=min(len(forecasts), columns))
    axes.yaxis.set_major_locator(MaxNLocator(nbins="auto", steps=[1, 2, 5, 10]))


def _differences(axes: Axes, differences: Sequence[Difference], units: Units) -> None:
    unit = small_unit(units)
    for number, one in enumerate(differences):
        low, high = (in_unit(unit, edge) for edge in one.band(BAND_LEVEL))
        axes.fill_between(  # bands lie on one another: each ends in thin dashes of its own line
            one.arc, low, high, facecolor=(0.88, 0.88, 0.88, 0.7), edgecolor="0.35", linewidth=0.8,
            linestyle=_dashes(number + 1), zorder=1,
        )  # fmt: skip
    for number, one in enumerate(differences):
        line = in_unit(unit, one.gap)
        axes.plot(one.arc, line, color="black", linewidth=1.7, linestyle=_dashes(number + 1), zorder=2)
    axes.axhline(0.0, color="black", linewidth=0.8)
    axes.set_ylabel(f"difference to {differences[0].against} [{unit}]\nper side; thin: nine in ten")


def _dashes(number: int) -> Any:
    return _DASHES[number % len(_DASHES)]
