"""Lines scribed before release at stations that can hardly be right: off the steel, in another unit, or no others'.

A shop scribes from a stop: one for a whole batch, or any of a few that it keeps for a mandrel. Which of the two, if
any, its own lines show; a line that stands alone is told by that habit only.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.findings import Finding
from springfit.lengths import from_mm, split_unit
from springfit.records.book import Book
from springfit.records.checks.others_median import others_median
from springfit.records.checks.rough_gaps import MandrelProfile
from springfit.records.checks.slips.mistyped import likely_typed
from springfit.records.rules.revisions import bells_on_steel

__all__ = ["odd_lines"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.integer[Any]]
Flags = NDArray[np.bool_]

_FEWEST_OTHERS = 3  # lines of other bells on the steel that say where it is scribed; the median of fewer is one line
# A line 25.4 times too far, or as near, within so much of the others' median; by judgement
_OTHER_UNIT = 0.05
# Lines are scribed from a stop: in the demo, the sample shops and the trial books nearly each of a mandrel's stands
# within 0.1 mm of another bell's, at one or two stations; 1 of 349 stands alone, at a stop used once. So where neither
# habit is shown, one alone is doubted only if a single figure, or two swapped, make it a stop. Of 1 218 sound lines in
# those and in nineteen books of invented shops two are doubted.
_AT_ONE_STOP_MM = 0.5  # five times that
# Lines of other batches that show one stop a batch: were one in twenty off it, so many would show none once in three
_FEWEST_OF_BATCHES, _MOST_OFF = 20, 0.05
_FEWEST_MATES = 2  # other lines of a batch, all at one stop: of two that differ nobody can say which is wrong
# Stops that two batches or more were scribed at: from so many on a mandrel is known to have several, and which
_FEWEST_STOPS = 2
# Other lines of the mandrel, and of them the share that has a twin; by judgement
_FEWEST_AT_STOPS, _MOST_AT_STOPS = 4, 0.9
_NO_STOP = "is no stop that the mandrel's other lines stand at"


@dataclass(frozen=True)
class _Stops:
    """Where a mandrel's n lines [mm] stand, those within reach of one another together, m places: their mean `place`,
    how many `lines` stand there, the `group` that each line is in, and which batches were scribed there, (m, b)."""

    place: Floats
    lines: Numbers
    group: Numbers
    scribed: Flags

    def is_alone(self, number: int) -> bool:
        """Whether a line stands at no stop."""
        return bool(self.lines[self.group[number]] == 1)

    def are_used(self, which: Flags) -> bool:
        """Whether nearly every line but one stands at those of the places, and there are enough."""
        others = len(self.group) - 1
        return others >= _FEWEST_AT_STOPS and bool(self.lines[which].sum() >= _MOST_AT_STOPS * others)

    def of_line(self, batch: int) -> Floats:
        """Those that speak of a line of the batch: a stop of one other batch alone is that batch's own."""
        several = self.lines > 1
        return self.place[several & ((self.scribed.sum(axis=1) > 1) | self.scribed[:, batch])]

    def kept(self) -> Floats:
        """Those kept for the mandrel batch after batch, where it has several; none where it has not."""
        shared = self.scribed.sum(axis=1) > 1
        return self.place[shared] if shared.sum() >= _FEWEST_STOPS and self.are_used(shared) else self.place[:0]


def odd_lines(book: Book, of: Mapping[tuple[str, int], MandrelProfile]) -> list[Finding]:
    """A doubt for each such line, setting the bell aside where it cannot be: its readings are counted from it."""
    found = []
    bells = bells_on_steel(book.batches, book.bells)
    bells = bells[bells["witness_z_mm"].notna()]
    row_of = dict(zip(book.bells["bell_id"], book.bells.index, strict=True))
    batch = pd.factorize(bells["batch_id"])[0]
    of_batch = _stop_of_batch(bells["witness_z_mm"].to_numpy(float), batch)
    for mandrel, rows in bells.groupby("mandrel_id").indices.items():
        at = np.asarray(rows, dtype=np.intp)
        some = bells["witness_z_mm"].to_numpy(float)[at]
        others = np.full(len(some), np.nan) if len(some) <= _FEWEST_OTHERS else others_median(some)
        stops = _stops(some, batch[at])
        for number, place in enumerate(at.tolist()):
            row, z = row_of[bells.index[place]], float(some[number])
            off = _odd(z, float(others[number]), of[str(mandrel), int(bells["revision"].iloc[place])])
            unit = _unit(book, row)
            if off:
                remedy = "the bell is set aside until it is corrected"
                found.append(_finding(book, row, off, from_mm(float(np.median(some)), unit), remedy, aside=True))
                continue
            said = _alone(z, float(of_batch[place]), stops, number, unit)
            if said is not None:
                found.append(_finding(book, row, *said, aside=False))
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


def _alone(z: float, of_batch: float, stops: _Stops, number: int, unit: str) -> tuple[str, float, str] | None:
    """What is odd of a line at z [mm] that stands where it should not, where it was meant to stand, in its unit, and
    what to ask; None when nothing is. of_batch: where its batch says, NaN where it does not; number: of the line among
    its mandrel's."""
    if np.isfinite(of_batch):
        if abs(z - of_batch) <= _AT_ONE_STOP_MM:
            return None
        there = from_mm(of_batch, unit)
        meant = _mistyped(z, np.array([of_batch]), unit) or f"{there:.5g}"
        return "is not where its batch's other lines stand", there, f"was it {meant}?"
    if not stops.is_alone(number):
        return None
    if stops.are_used(stops.lines > 1):
        batch = int(np.flatnonzero(stops.scribed[stops.group[number]])[0])
        meant = _mistyped(z, stops.of_line(batch), unit)
        if meant:
            return _NO_STOP, float(meant), f"was it {meant}?"
    kept = stops.kept()
    if not len(kept):
        return None
    return _NO_STOP, from_mm(float(kept[np.abs(kept - z).argmin()]), unit), "which of its stops was it scribed at?"


def _stop_of_batch(lines: Floats, batch: Numbers) -> Floats:
    """Where [mm] the other lines of each one's batch all stand, in a book whose other batches have one stop each; NaN
    where they do not, or are too few."""
    stop = np.full(len(lines), np.nan)
    for number in np.flatnonzero(np.bincount(batch) > _FEWEST_MATES).tolist():
        mine = np.flatnonzero(batch == number)
        z = lines[mine]
        order = np.sort(z)
        low, high = np.where(z == order[0], order[1], order[0]), np.where(z == order[-1], order[-2], order[-1])
        stop[mine] = np.where(high - low <= _AT_ONE_STOP_MM, others_median(z), np.nan)
    known = np.isfinite(stop)
    off = known & (np.abs(lines - np.nan_to_num(stop)) > _AT_ONE_STOP_MM)
    known_of_others, off_others = (
        each.sum() - np.bincount(batch, each, minlength=1)[batch] if len(batch) else stop for each in (known, off)
    )
    shown = (known_of_others >= _FEWEST_OF_BATCHES) & (off_others <= _MOST_OFF * known_of_others)
    return np.where(shown, stop, np.nan)


def _stops(lines: Floats, batch: Numbers) -> _Stops:
    """Where a mandrel's lines [mm] of those batches stand together."""
    order = np.argsort(lines, kind="stable")
    group = np.empty(len(lines), dtype=np.intp)
    group[order] = np.append(0, np.cumsum(np.diff(lines[order]) > _AT_ONE_STOP_MM))
    own = np.unique(batch, return_inverse=True)[1]
    count = np.bincount(group)
    scribed = np.zeros((len(count), int(own.max()) + 1), dtype=bool)
    scribed[group, own] = True
    return _Stops(np.bincount(group, lines) / count, count, group, scribed)


def _mistyped(z: float, stops: Floats, unit: str) -> str:
    """The stop [mm] that a line at z [mm] was meant to stand at, as typed; "" where none is near."""
    shown, within = f"{from_mm(z, unit):.6g}", from_mm(_AT_ONE_STOP_MM, unit)
    return next(filter(None, (likely_typed(shown, from_mm(stop, unit), within) for stop in stops.tolist())), "")


def _odd(z: float, usual: float, steel: MandrelProfile) -> str:
    """What is odd of a line at z [mm] beside the `usual` one on its mandrel (NaN: too few); "" when nothing is."""
    if not steel.z[0] <= z <= steel.z[-1]:
        return "is past the steel"
    for factor, said in ((25.4, "inches"), (1 / 25.4, "millimetres")):
        if abs(z * factor / usual - 1) < _OTHER_UNIT:
            return f"fits the other bells in {said}"
    return ""
