"""What does not change while one way of measuring is gone through: the steel, the sheet's batch in the book, the bells
before, and what they are compared by. Worked out once, from one state of the book."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.bench.entry.entry_place import Place
from springfit.bench.judging.near_book import near_book
from springfit.records.book import Book
from springfit.records.checks.rough_gaps import SHEET, MandrelProfile, mandrel_profiles, rough_gaps
from springfit.records.checks.slips.compared_readings import ComparedReadings
from springfit.records.checks.slips.expected_readings import compared_rows
from springfit.records.reading_kinds import KINDS
from springfit.records.rules.revisions import bells_on_steel

__all__ = ["OfGauge", "SheetName", "WayBefore", "sheet_order", "way_before"]

Floats = NDArray[np.float64]
SheetName = tuple[str, str, str, str, str | None]  # bell, stage, kind, datum, gauge
Sizes = Mapping[str, float]

_OF_BATCH = ("wall_mm", "blank_rim_mm", "finished_rim_mm")


@dataclass(frozen=True)
class OfGauge:
    """A gauge's `number` among those of the book, and its standard deviations of a value and of a station [mm]."""

    number: int
    repeat: float = float("nan")
    placed: float = float("nan")


@dataclass(frozen=True)
class WayBefore:
    """Of one way of measuring bells of one batch: the book's `units`; the `steel`; `bells` before, compared, in the
    order of their sheets'
    `names`, each row's place among them in `row_names`; the book's `gauges`; `batch`, the sizes [mm] of the batch that
    the book has, and `walls` of its bells [mm], both empty for a new one; `curve`, stations and distances off the steel
    [mm] of all that was read of the bells before."""

    units: str
    steel: MandrelProfile
    names: tuple[SheetName, ...]
    row_names: NDArray[np.integer[Any]]
    bells: ComparedReadings
    gauges: Mapping[str, OfGauge]
    batch: Sizes
    walls: Sizes
    curve: tuple[Floats, Floats]


def way_before(book: Book, mandrel_id: str, revision: int, place: Place, batch_id: str) -> WayBefore:
    """What is known before the first value of a bell of the batch is typed, taken as at `place`."""
    near = near_book(book, mandrel_id, revision, place, without=batch_id)
    of = mandrel_profiles(near)
    gaps = rough_gaps(near, of)
    rows, compared = compared_rows(near, gaps, of)
    gauges = _gauges(book)
    named = [*zip(*(rows[name] for name in SHEET), [_name(one) for one in rows["gauge_id"]], strict=True)]
    names = sorted(set(named), key=sheet_order)
    number = {name: place for place, name in enumerate(names)}
    gauge = np.array([-1 if name[-1] is None else gauges[name[-1]].number for name in named], dtype=int)
    batches = book.batches[book.batches["batch_id"] == batch_id]
    return WayBefore(
        units=book.units, steel=of[mandrel_id, revision], names=tuple(names), gauges=gauges,
        row_names=np.array([number[name] for name in named], dtype=int), bells=replace(compared, gauge=gauge),
        batch={name: float(batches[name].iloc[0]) for name in _OF_BATCH} if len(batches) else {},
        walls=_walls(book, batches, batch_id), curve=_curve(near, gaps, place),
    )  # fmt: skip


def sheet_order(name: SheetName) -> tuple[str, str, str, str, bool, str]:
    """What sheets are put in order by; those of no gauge last, as a table is sorted."""
    return (*name[:4], name[4] is None, name[4] or "")


def _curve(near: Book, gaps: pd.DataFrame, place: Place) -> tuple[Floats, Floats]:
    read, names = gaps, ("station_mm", "gap_mm")
    if not KINDS[place.kind].diameter:
        read, names = near.measurements, ("z_mm", "value_mm")
    station, gap = (read[name].to_numpy(float) for name in names)
    fine = np.isfinite(station) & np.isfinite(gap)
    return station[fine], gap[fine]


def _walls(book: Book, batches: pd.DataFrame, batch_id: str) -> dict[str, float]:
    """Wall of each bell of the batch that the book has [mm]."""
    walls = bells_on_steel(batches, book.bells[book.bells["batch_id"] == batch_id])["wall_mm"]
    return dict(zip(map(str, walls.index), walls.tolist(), strict=True))


def _gauges(book: Book) -> dict[str, OfGauge]:
    columns = (book.gauges[name] for name in ("gauge_id", "repeatability_mm", "station_mm"))
    return {
        str(name): OfGauge(number, float(repeat), float(placed))
        for number, (name, repeat, placed) in enumerate(zip(*columns, strict=True))
    }


def _name(gauge: object) -> str | None:
    return gauge if isinstance(gauge, str) else None
