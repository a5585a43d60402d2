"""A mandrel's batches on one line of time: how far their flares lie off the steel, and when the steel was changed."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from springfit.bench.shop_numbers import bare_small_size
from springfit.records.book import Book
from springfit.records.checks.rough_gaps import mandrel_profiles, rough_gaps
from springfit.reporting.wording.length_wording import Units, small_unit

__all__ = ["Mark", "Timeline", "timeline_of"]

# Of the picture, in its own units: a phone's width, so that its letters are nearly as large as the page's.
WIDE, HIGH = 360, 170
_EDGE, _FOOT, _HEAD = 12.0, 34.0, 30.0  # left and right; room for days below and for words above
# Of the steel's length: from there to the rim a bell springs back most, its tail hardly at all. The learner's flare
# (`FLARE_PART`) is told by arc, which stations of a record have not; on the steel of the demo and the sample shops it
# begins at 0.64 to 0.70 of the length.
_FLARE = 2 / 3
_LEAST_SPAN_MM = 0.1  # of the upright axis: less than that of springback is no difference


@dataclass(frozen=True)
class Mark:
    """A batch (`name`) or a revision (`name` its number) at `x`; of a batch `y`, `placed` where its flare was read from
    a known zero, and its `state` (empty: not judged)."""

    name: str
    day: str
    x: float
    y: float = 0.0
    state: str = ""
    placed: bool = True


@dataclass(frozen=True)
class Timeline:
    """Batches and revisions as they are drawn; `zero` the height of the steel, `most` the largest distance off it in
    `unit` at the height `top`, `words` what the picture says."""

    batches: tuple[Mark, ...]
    revisions: tuple[Mark, ...]
    zero: float
    top: float
    most: str
    unit: str
    words: str


def timeline_of(book: Book, mandrel_id: str, states: Mapping[str, str]) -> Timeline | None:
    """The mandrel's batches by day and by the median distance of their flares off the steel; None without any."""
    gaps = _median_gaps(_of_mandrel(book, mandrel_id))
    spun = book.batches[book.batches["mandrel_id"] == mandrel_id].sort_values("spun_on", kind="stable")
    if not gaps:
        return None
    days = {str(name): day.date() for name, day in zip(spun["batch_id"], spun["spun_on"], strict=True)}
    steel = book.mandrels[book.mandrels["mandrel_id"] == mandrel_id].sort_values("revision")
    changed = [(str(int(r)), d.date()) for r, d in zip(steel["revision"], steel["in_force_from"], strict=True)][1:]
    place = _across([*days.values(), *(day for _, day in changed)])
    low, high = min(0.0, *gaps.values()), max(0.0, *gaps.values())
    high = max(high, low + _LEAST_SPAN_MM)
    up = (HIGH - _FOOT - _HEAD) / (high - low)
    unit = small_unit(book.units)
    return Timeline(
        tuple(Mark(name, str(day), place(day), HIGH - _FOOT - (gaps.get(name, 0.0) - low) * up, states.get(name, ""),
                   name in gaps)
              for name, day in days.items()),
        tuple(Mark(number, str(day), place(day)) for number, day in changed),
        HIGH - _FOOT + low * up, HIGH - _FOOT - (max(gaps.values()) - low) * up,
        bare_small_size(max(gaps.values()), book.units), unit,
        _words(gaps, [name for name in days if name in gaps], book.units),
    )  # fmt: skip


def _of_mandrel(book: Book, mandrel_id: str) -> Book:
    batches = book.batches[book.batches["mandrel_id"] == mandrel_id]
    bells = book.bells[book.bells["batch_id"].isin(batches["batch_id"])]
    read = book.measurements[book.measurements["bell_id"].isin(bells["bell_id"])]
    return replace(
        book, batches=batches, bells=bells, measurements=read[read["datum"] != "free"],
        mandrels=book.mandrels[book.mandrels["mandrel_id"] == mandrel_id],
    )  # fmt: skip


def _median_gaps(book: Book) -> dict[str, float]:
    """Median distance off the steel [mm] of the diameters of each batch read on its flare."""
    of = mandrel_profiles(book)
    gaps = rough_gaps(book, of)
    begins = np.array([_FLARE * float(steel.z[-1]) for steel in of.values()])
    gaps = gaps[gaps["station_mm"].to_numpy(float) >= begins[gaps["code"].to_numpy(int)]]
    batch = gaps["bell_id"].map(dict(zip(book.bells["bell_id"], book.bells["batch_id"], strict=True)))
    median = gaps["gap_mm"].groupby(batch).median().dropna()
    return {str(name): float(gap) for name, gap in median.items()}


def _across(days: Sequence[datetime.date]) -> Callable[[datetime.date], float]:
    first, last = min(days), max(days)
    return lambda day: _EDGE + (WIDE - 2 * _EDGE) * ((day - first) / (last - first) if last > first else 0.5)


def _words(gaps: Mapping[str, float], order: Sequence[str], units: Units) -> str:
    said = [f"{name} {bare_small_size(gaps[name], units)}" for name in order[-8:]]
    return f"Median distance of the flare off the steel [{small_unit(units)}], oldest first: {', '.join(said)}"
