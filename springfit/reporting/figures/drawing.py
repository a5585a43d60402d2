"""The new profile as a drawing: fine polylines on named layers, x along the axis from the tail, y the radius.

A drawing has no column names, so its unit stands in the header ($INSUNITS) and in a note beside the profile.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from springfit.flag_runs import runs_of_true
from springfit.lengths import from_mm
from springfit.reporting.wording.length_wording import Units

if TYPE_CHECKING:
    from ezdxf.document import Drawing

    from springfit.decisions.correction import Correction

__all__ = ["LAYERS", "line_drawing", "profile_drawing"]

Array = npt.NDArray[np.float64]

LAYERS = {  # layer: column of the stations it draws, and how
    "CUT_NOW": ("cut_now_diameter_mm", "CONTINUOUS", "mandrel after the cut of today"),
    "FULL_NEED": ("diameter_mm", "DASHED", "mandrel that would give the target"),
    "DO_NOT_PASS": ("do_not_pass_diameter_mm", "DOT", "sizes never to cut below"),
    "PRESENT": ("present_diameter_mm", "DASHDOT", "mandrel as it is"),
}
_AXIS, _NOTE = "AXIS", "NOTE"
_INSUNITS = {"in": 1, "mm": 4}  # DXF reference, header variable $INSUNITS
_MEASUREMENT = {"in": 0, "mm": 1}  # DXF reference, header variable $MEASUREMENT
_STEP_MM = 0.25  # between points: a radius of 4 mm still draws within 2 micrometres
_KINK_RAD, _KINK_TIMES = 0.01, 4.0  # half a degree, and four times what the stations beside it turn; by eye
_DECIMALS = 5  # of inches or mm: a quarter micrometre at most, finer than any lathe
_BLACK = 7  # the drawing colour that is black on white paper


def profile_drawing(correction: Correction, *, units: Units) -> bytes:
    """A DXF drawing (R2010, text) in `units`: the profiles of `LAYERS`, the axis, a note of the unit.

    The same bytes for the same correction: day, marks and GUIDs that the library would make anew are fixed ones.
    """
    with _fixed_marks():
        return _drawn(correction, units)


@contextmanager
def _fixed_marks() -> Iterator[None]:
    """The library's switch for fixed days and GUIDs, put back as it was."""
    from ezdxf import options

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def line_drawing(z: Array, radius: Array, *, units: Units) -> bytes:
    """A DXF drawing in `units` of one line through points z and radius (n,) [mm], on the layer TARGET."""
    with _fixed_marks():
        return _written(z, {"TARGET": (radius, "CONTINUOUS", "inside of the finished bell")}, units)


def _drawn(correction: Correction, units: Units) -> bytes:
    stations = correction.stations
    lines = {
        layer: (stations[column].to_numpy(float) / 2.0, line, words)
        for layer, (column, line, words) in LAYERS.items()
    }
    return _written(stations["z_mm"].to_numpy(float), lines, units)


def _written(z: Array, lines: dict[str, tuple[Array, str, str]], units: Units) -> bytes:
    """The drawing of radii over z on their layers, each with its line type and words, the axis and the note."""
    import ezdxf

    drawing = ezdxf.new("R2010", setup=["linetypes"])
    drawing.header["$INSUNITS"] = _INSUNITS[units]
    drawing.header["$MEASUREMENT"] = _MEASUREMENT[units]
    for layer, (radius, line, words) in lines.items():
        drawing.layers.add(layer, color=_BLACK, linetype=line).description = words
        for points in _unbroken(z, radius):
            _draw(drawing, layer, points, units)
    drawing.layers.add(_AXIS, color=_BLACK, linetype="CENTER")
    _draw(drawing, _AXIS, np.array([[z[0], 0.0], [z[-1], 0.0]]), units)
    _write_note(drawing, units)
    _settle_classes(drawing)
    page = io.StringIO()
    drawing.write(page)
    return page.getvalue().encode("utf-8")


def _settle_classes(drawing: Drawing) -> None:
    """Names the classes that the library would add on writing, in an order that does not hang on this run's hashes."""
    from ezdxf.sections.classes import REQ_R2004, REQUIRED_CLASSES

    required = REQUIRED_CLASSES.get(drawing.dxfversion, REQ_R2004)
    for name in (*required, *sorted(drawing.entitydb.dxf_types_in_use())):
        drawing.classes.add_class(name)


def _unbroken(z: Array, radius: Array) -> list[Array]:
    """The profile as fine points (n, 2) [mm], in as many lines as gaps in the data leave."""
    stations = np.column_stack((z, radius))
    return [_fine(stations[first : last + 1]) for first, last in runs_of_true(np.isfinite(radius)) if last > first]


def _fine(stations: Array) -> Array:
    """Points at most `_STEP_MM` apart through the stations (n, 2) [mm], smooth from kink to kink."""
    ends = [0, *_kinks(stations), len(stations) - 1]
    pieces = [_smooth(stations[start : stop + 1]) for start, stop in pairwise(ends)]
    return np.concatenate((*(piece[:-1] for piece in pieces), pieces[-1][-1:]))


def _kinks(stations: Array) -> list[int]:
    """Stations where the line turns sharply and its neighbours do not."""
    z_step, r_step = np.diff(stations, axis=0).T
    turn = np.abs(np.diff(np.arctan2(r_step, z_step)))
    beside = np.maximum(np.concatenate(([np.inf], turn[:-1])), np.concatenate((turn[1:], [np.inf])))
    return [int(row) + 1 for row in np.flatnonzero((turn > _KINK_RAD) & (turn > _KINK_TIMES * beside))]


def _smooth(stations: Array) -> Array:
    """Points on a curve through the stations; every station is itself one of them."""
    from scipy.interpolate import Akima1DInterpolator

    chord = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(stations, axis=0).T))))
    places = [
        np.linspace(start, stop, max(1, int(np.ceil((stop - start) / _STEP_MM))), endpoint=False)
        for start, stop in pairwise(chord)
    ]
    curve = Akima1DInterpolator(chord, stations, method="makima")
    return np.asarray(curve(np.concatenate((*places, chord[-1:]))), dtype=float)


def _draw(drawing: Drawing, layer: str, points: Array, units: Units) -> None:
    rounded = np.round(from_mm(1.0, units) * points, _DECIMALS)
    drawing.modelspace().add_lwpolyline(rounded.tolist(), format="xy", dxfattribs={"layer": layer})


def _write_note(drawing: Drawing, units: Units) -> None:
    """What x and y are, under the axis."""
    words = f"x = z from the tail, y = RADIUS, in {'inches' if units == 'in' else 'mm'}; rim on the right"
    drawing.layers.add(_NOTE, color=_BLACK)
    height = from_mm(4.0, units)
    drawing.modelspace().add_text(
        words, height=height, dxfattribs={"layer": _NOTE, "insert": (0.0, -2.5 * height)}
    )
