"""The picture of several ways to spin one mandrel: their gaps on one another, and each one's difference to the first.

Told apart by their dashes, so that a copy in black and white says as much.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from springfit.reporting.comparing.difference_wording import LEVEL
from springfit.reporting.figures.bell_axes import STYLE, along_bell, in_unit, key_above
from springfit.reporting.wording.length_wording import Units, small_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from springfit.decisions.compared_conditions import Difference
    from springfit.decisions.forecast import Forecast

__all__ = ["compared_picture"]

# Told apart without colour; lengths of line and gap in line widths, by eye.
_DASHES: tuple[Any, ...] = ("-", (0, (6, 2)), (0, (1.5, 1.5)), (0, (8, 2, 1.5, 2)), (0, (3, 1, 1, 1, 1, 1)))
_SHADES = ("0.80", "0.88", "0.72", "0.92")  # of bands that lie on one another


def compared_picture(forecasts: Sequence[Forecast], differences: Sequence[Difference], *, units: Units) -> Figure:
    """Above, the gap of every forecast; below, the differences to the first with their bands."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(7.6, 6.6), layout="constrained")
        above, below = figure.subplots(2, 1, sharex=True)
        _gaps(above, forecasts, units)
        _differences(below, differences, units)
        longest = max((one.meridian for one in forecasts), key=lambda steel: steel.length)
        along_bell(below, longest.s, longest.z, 2.0 * longest.r, units)
    return figure


def _gaps(axes: Axes, forecasts: Sequence[Forecast], units: Units) -> None:
    unit = small_unit(units)
    for number, one in enumerate(forecasts):
        axes.plot(one.meridian.s, in_unit(unit, one.gap), color="black", linewidth=2.2 if number == 0 else 1.7,
                  linestyle=_dashes(number), label=one.name)  # fmt: skip
    axes.axhline(0.0, color="black", linewidth=0.8)
    axes.set_ylabel(f"gap per side [{unit}]\n+ bell larger than mandrel")
    axes.tick_params(labelbottom=False)
    key_above(axes, columns=min(len(forecasts), 4))


def _differences(axes: Axes, differences: Sequence[Difference], units: Units) -> None:
    unit = small_unit(units)
    for number, one in enumerate(differences):
        low, high = (in_unit(unit, edge) for edge in one.band(LEVEL))
        axes.fill_between(one.arc, low, high, color=_SHADES[number % len(_SHADES)], linewidth=0, alpha=0.7, zorder=1)
    for number, one in enumerate(differences):
        line = in_unit(unit, one.gap)
        axes.plot(one.arc, line, color="black", linewidth=1.7, linestyle=_dashes(number + 1), zorder=2)
    axes.axhline(0.0, color="black", linewidth=0.8)
    axes.set_ylabel(f"difference to {differences[0].against} [{unit}]\nper side, band 90 %")


def _dashes(number: int) -> Any:
    return _DASHES[number % len(_DASHES)]
