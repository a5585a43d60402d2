"""Lines scribed before release at stations that can hardly be right: off the steel, in another unit, or no others'."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from springfit.findings import Finding
from springfit.lengths import from_mm, split_unit
from springfit.records.book import Book
from springfit.records.checks.others_median import others_median
from springfit.records.checks.rough_gaps import MandrelProfile
from springfit.records.checks.slips.mistyped import likely_typed
from springfit.records.rules.revisions import bells_on_steel

__all__ = ["odd_lines"]

_FEWEST_OTHERS = 3  # lines of other bells on the steel that say where it is scribed; the median of fewer is one line
# A line 25.4 times too far, or as near, within so much of the others' median; by judgement
_OTHER_UNIT = 0.05
# Lines are scribed from a stop: in the demo, the sample shops and the trial books nearly each of a mandrel's stands
# within 0.1 mm of another bell's, at one or two stations; 1 of 349 stands alone, at a stop used once. So one alone is
# doubted only where a single figure, or two swapped, make it a stop: of any other nobody can say.
_AT_ONE_STOP_MM = 0.5  # five times that
# Other lines of the mandrel, and of them the share that has a twin; by judgement
_FEWEST_AT_STOPS, _MOST_AT_STOPS = 4, 0.9


def odd_lines(book: Book, of: Mapping[tuple[str, int], MandrelProfile]) -> list[Finding]:
    """A doubt for each such line, setting the bell aside where it cannot be: its readings are counted from it."""
    found = []
    bells = bells_on_steel(book.batches, book.bells)
    lines = bells["witness_z_mm"].dropna()
    row_of = dict(zip(book.bells["bell_id"], book.bells.index, strict=True))
    for mandrel, some in lines.groupby(bells.loc[lines.index, "mandrel_id"]):
        revisions = bells.loc[some.index, "revision"].astype(int)
        few = len(some) <= _FEWEST_OTHERS
        others = np.full(len(some), np.nan) if few else others_median(some.to_numpy(float))
        stops = _stops(some.to_numpy(float))
        for bell, z, usual_z, revision in zip(some.index, some, others.tolist(), revisions, strict=True):
            row, off = row_of[bell], _odd(float(z), usual_z, of[str(mandrel), revision])
            unit = _unit(book, row)
            meant = "" if off else _mistyped(float(z), stops, unit)
            if off:
                remedy = "the bell is set aside until it is corrected"
                found.append(_finding(book, row, off, from_mm(float(np.median(some)), unit), remedy, aside=True))
            elif meant:
                said, remedy = "is no stop that the mandrel's other lines stand at", f"was it {meant}?"
                found.append(_finding(book, row, said, float(meant), remedy, aside=False))
    return found


def _unit(book: Book, row: Any) -> str:
    file = str(book.bells.at[row, "source_file"])
    return split_unit(book.headers.get((file, "witness_z_mm"), "witness_z_mm"))[1] or "mm"


def _finding(book: Book, row: Any, said: str, usual: float, remedy: str, *, aside: bool) -> Finding:
    """The doubt about one line; `usual` in the column's unit. One some mm off hardly moves what is measured from it: by
    how the steel's neighbourhood moved on release."""
    cells: Any = book.bells.at
    bell, unit = str(cells[row, "bell_id"]), _unit(book, row)
    return book.finding(
        "doubt", "bells", row, "witness_z_mm", subject=bell, sets_aside=aside, remedy=remedy,
        what=f"bell {bell!r}: the scribed line at {from_mm(float(cells[row, 'witness_z_mm']), unit):.5g} {unit} {said}",
        expected=f"on the steel, as other bells' about {usual:.5g} {unit}",
    )  # fmt: skip


def _stops(lines: np.ndarray) -> np.ndarray:
    """Where nearly all of a mandrel's lines [mm] stand together; empty where they do not."""
    order = np.sort(lines)
    apart = np.pad(np.diff(order), 1, constant_values=np.inf)
    together = np.minimum(apart[:-1], apart[1:]) <= _AT_ONE_STOP_MM
    others = len(lines) - 1
    return order[together] if others >= _FEWEST_AT_STOPS and together.sum() >= _MOST_AT_STOPS * others else order[:0]


def _mistyped(z: float, stops: np.ndarray, unit: str) -> str:
    """The stop that a line at z [mm] was meant to stand at, as typed; "" where it stands at one, or none is near."""
    if not len(stops) or np.abs(stops - z).min() <= _AT_ONE_STOP_MM:
        return ""
    shown, within = f"{from_mm(z, unit):.6g}", from_mm(_AT_ONE_STOP_MM, unit)
    each = stops[np.append(True, np.diff(stops) > _AT_ONE_STOP_MM)]
    return next(filter(None, (likely_typed(shown, from_mm(stop, unit), within) for stop in each.tolist())), "")


def _odd(z: float, usual: float, steel: MandrelProfile) -> str:
    """What is odd of a line at z [mm] beside the `usual` one on its mandrel (NaN: too few); "" when nothing is."""
    if not steel.z[0] <= z <= steel.z[-1]:
        return "is past the steel"
    for factor, said in ((25.4, "inches"), (1 / 25.4, "millimetres")):
        if abs(z * factor / usual - 1) < _OTHER_UNIT:
            return f"fits the other bells in {said}"
    return ""
