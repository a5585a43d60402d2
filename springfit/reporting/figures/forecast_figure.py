"""The picture of a forecast: the gap from tail to rim, with the bands of a batch's mean and of one bell."""

from __future__ import annotations

from typing import TYPE_CHECKING

from springfit.normal_errors import BAND_LEVEL
from springfit.reporting.figures.bell_axes import NARROW, STYLE, along_bell, in_unit, key_above
from springfit.reporting.wording.length_wording import Units, small_unit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from springfit.decisions.forecast import Forecast

__all__ = ["draw_forecast", "forecast_picture"]

_SHAPE_DASHES = (0, (7, 3))  # line and gap, in line widths


def forecast_picture(forecast: Forecast, *, units: Units, narrow: bool = False) -> Figure:
    """The gap of a forecast along the bell, its bands, and the shape left after a slide; narrow: for a telephone."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=NARROW if narrow else (7.6, 4.2), layout="constrained")
        draw_forecast(figure.subplots(), forecast, units=units, narrow=narrow)
    return figure


def draw_forecast(axes: Axes, forecast: Forecast, *, units: Units, narrow: bool = False) -> None:
    """Both bands, the gap and the shape left after a slide, on axes along the bell."""
    unit, s = small_unit(units), forecast.meridian.s
    for band, grey, label in (
        (forecast.bell_band(BAND_LEVEL), "0.90", "nine bells in ten"),
        (forecast.mean_band(BAND_LEVEL), "0.72", "nine batch means in ten"),
    ):
        low, high = (in_unit(unit, edge) for edge in band)
        axes.fill_between(s, low, high, color=grey, linewidth=0, label=label)
    axes.plot(s, in_unit(unit, forecast.gap), color="black", linewidth=2.6, label="gap")
    shape = in_unit(unit, forecast.shape)
    label = "shape left after a slide"
    axes.plot(s, shape, color="black", linewidth=1.5, linestyle=_SHAPE_DASHES, label=label)
    along_bell(axes, s, forecast.meridian.z, 2.0 * forecast.meridian.r, units, ticks=4 if narrow else 7)
    axes.set_ylabel(f"gap per side [{unit}]\n+ bell larger than mandrel")
    axes.axhline(0.0, color="black", linewidth=0.8)
    key_above(axes, columns=1 if narrow else 2)
