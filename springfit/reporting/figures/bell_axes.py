"""Axes along a bell, the same in every picture: tail left, rim right, ticks a maker can find, the key above.

The abscissa is arc length, because the last centimetre of z holds half of a flare; its ticks are labelled with
z and the diameter there.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from springfit.lengths import from_mm
from springfit.reporting.wording.length_wording import Units, place

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["NARROW", "STYLE", "along_bell", "in_unit", "key_above", "round_places"]

Array = npt.NDArray[np.float64]

# Sizes in points, by eye: letters are read at arm's length.
STYLE: dict[Any, Any] = {
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

NARROW = (4.1, 4.4)  # [in] of a picture for a telephone held upright, 390 px wide, with letters as large as on paper
# Spacings of ticks that a scale is marked with.
ROUND_MM: Mapping[Units, tuple[float, ...]] = {"mm": (50.0, 20.0, 10.0, 5.0, 2.0, 1.0), "in": (25.4, 12.7, 6.35, 2.54)}
MOST_MOVED = 0.25  # of the spacing of ticks, to stand at a round z: beyond, labels would run into one another


def along_bell(axes: Axes, s: Array, z: Array, diameter: Array, units: Units, *, ticks: int = 7) -> None:
    """So many ticks from tail to rim with z and the diameter found there, at round z between the two ends, and round
    ones up the side; s, z, diameter: (n,) [mm]."""
    from matplotlib.ticker import MaxNLocator

    axes.yaxis.set_major_locator(MaxNLocator(nbins="auto", steps=[1, 2, 5, 10]))
    places = round_places(s, z, units, ticks=ticks)
    labels = [
        f"{place(np.interp(tick, s, z), units)}\n{place(np.interp(tick, s, diameter), units)}"
        for tick in places
    ]
    first_z, first_diameter = labels[0].split("\n")
    labels[0] = f"z {first_z}\nØ {first_diameter}"
    axes.set_xlim(float(s[0]), float(s[-1]))
    axes.set_xticks(places, labels)
    said = "along the bell, z and diameter Ø" if ticks > 4 else "z and Ø"
    axes.set_xlabel(f"TAIL   ←   {said} [{units}]   →   RIM")


def round_places(s: Array, z: Array, units: Units, *, ticks: int) -> Array:
    """So many places of arc [mm] from end to end, about even, at round z between the two ends; s, z: (n,) [mm]."""
    even = np.linspace(s[0], s[-1], ticks)
    return np.array([even[0], *(_at_round_z(tick, s, z, units, even[1] - even[0]) for tick in even[1:-1]), even[-1]])


def _at_round_z(tick: float, s: Array, z: Array, units: Units, spacing: float) -> float:
    """The place nearest to `tick` whose z is round, as round as leaves ticks about `spacing` apart."""
    for step in ROUND_MM[units]:
        near = float(np.interp(step * round(float(np.interp(tick, s, z)) / step), z, s))
        if abs(near - tick) < MOST_MOVED * spacing:
            return near
    return tick


def key_above(axes: Axes, *, columns: int, left: float = 0.0) -> None:
    """The key above the plot, handles long enough to tell dashes apart; left: its beginning as a share of the axes."""
    if not axes.get_legend_handles_labels()[0]:
        return  # a bell of which nothing could be read on the steel
    axes.legend(
        loc="lower left",
        bbox_to_anchor=(left, 1.01),
        ncols=columns,
        frameon=False,
        handlelength=2.8,
        columnspacing=1.1,
        borderaxespad=0.0,
        fontsize=10,
    )


def in_unit(unit: str, length_mm: Any) -> Array:
    """Lengths in mm as an array in `unit`."""
    return np.asarray(length_mm, dtype=float) * from_mm(1.0, unit)
