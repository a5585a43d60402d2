"""The picture of a mandrel's copy: wear along it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from springfit.normal_errors import BAND_90
from springfit.reporting.figures.bell_axes import NARROW, STYLE, along_bell, in_unit, key_above
from springfit.reporting.wording.length_wording import Units, small_unit

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from springfit.survey.mandrels.copying import Copy

__all__ = ["copy_picture"]



def copy_picture(copy: Copy, *, units: Units, narrow: bool = False) -> Figure:
    """Wear of the last revision along the mandrel, with what the new line is known to; narrow: for a telephone."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=NARROW if narrow else (7.6, 3.4), layout="constrained")
        axes, unit = figure.subplots(), small_unit(units)
        band = in_unit(unit, BAND_90 * copy.error)
        axes.fill_between(
            copy.s, -band, band, color="0.86", linewidth=0, label="the new line is known to, nine in ten"
        )
        axes.plot(
            copy.s,
            in_unit(unit, -copy.wear),
            color="black",
            linewidth=2.2,
            label="the last revision, plating off",
        )
        axes.axhline(0.0, color="black", linewidth=0.8)
        for place in copy.s[copy.masked]:
            axes.axvline(place, color="0.6", linewidth=2.0, alpha=0.5)
        low = float(np.min(in_unit(unit, -copy.wear)))
        axes.set_ylim(min(1.25 * low, -1.5 * float(np.max(band))), 1.5 * float(np.max(band)))
        along_bell(axes, copy.s, copy.z, copy.diameter, units, ticks=4 if narrow else 7)
        axes.set_ylabel(f"off the new line [{unit}]\nworn  –   0")
        key_above(axes, columns=1 if narrow else 2, left=-0.2 if narrow else 0.0)
    return figure
