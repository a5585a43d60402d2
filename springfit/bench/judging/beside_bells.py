"""Readings as they are typed laid beside those of the bells before, in the order that the checks compare them in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from springfit.bench.entry.entry_place import Place
from springfit.bench.judging.typed_readings import TypedReadings
from springfit.bench.judging.way_before import OfGauge, SheetName, WayBefore, sheet_order
from springfit.records.checks.slips.compared_readings import ComparedReadings
from springfit.records.checks.slips.expected_readings import chords_at, radii_at

__all__ = ["beside_bells"]

Numbers = NDArray[np.integer[Any]]


def beside_bells(
    before: WayBefore, batch: str, places: Sequence[Place], typed: TypedReadings
) -> tuple[ComparedReadings, Numbers]:
    """The bells before and the bell that is typed, of `batch`, together; and where each typed reading stands among them
    (-1 for one whose place on the steel is not known)."""
    known = np.flatnonzero(np.isfinite(typed.station) & np.isfinite(typed.gap))
    names = [_sheet_of(places[at]) for at in known.tolist()]
    own = _own(before, [places[at] for at in known.tolist()], typed, known)
    every = sorted({*before.names, *names}, key=sheet_order)
    number = {name: place for place, name in enumerate(every)}
    earlier = np.array([number[name] for name in before.names], dtype=int)[before.row_names]
    sheet = np.append(earlier, [number[name] for name in names]).astype(int)
    order = np.lexsort((np.append(before.bells.station, own.station), sheet))
    columns: dict[str, Any] = {
        one.name: np.append(getattr(before.bells, one.name), getattr(own, one.name))[order]
        for one in fields(ComparedReadings)
    }
    columns["sheet"] = np.where(columns["gauge"] < 0, -1, sheet[order])
    stands = np.empty(len(order), dtype=int)
    stands[order] = np.arange(len(order))
    of_own = np.full(len(places), -1)
    of_own[known] = stands[len(before.row_names) :]
    return ComparedReadings(**columns), of_own


def _own(before: WayBefore, places: Sequence[Place], typed: TypedReadings, known: Numbers) -> ComparedReadings:
    """The typed readings as columns: their bell and batch are none of those before."""
    station = typed.station[known]
    slope = before.steel.slope_at(station)
    clearance = places[0].kind == "clearance"
    gauges = [_gauge(before, place.gauge or None) for place in places]
    alike = np.zeros(len(known), dtype=int)
    return ComparedReadings(
        steel=alike, kind=alike, bell=alike + _next(before.bells.bell), batch=alike + _next(before.bells.batch),
        gauge=np.array([one.number for one in gauges]), sheet=alike, clearance=np.full(len(known), clearance),
        station=station, gap=typed.gap[known], slope=slope, radius=radii_at(before.steel, station),
        chord=chords_at(before.steel, station), angle=np.array([_angle(place) for place in places]),
        per_value=np.ones(len(known)) if clearance else np.cos(slope) / 2,
        repeat=np.array([one.repeat for one in gauges]), placed=np.array([one.placed for one in gauges]),
    )  # fmt: skip


def _angle(place: Place) -> float:
    """Angle from the seam [deg], NaN where none is noted or what is noted is none: reading the book refuses that."""
    try:
        return float(place.angle)
    except ValueError:
        return float("nan")


def _sheet_of(place: Place) -> SheetName:
    return place.bell, place.stage, place.kind, place.datum, place.gauge or None


def _gauge(before: WayBefore, name: str | None) -> OfGauge:
    """The gauge of that name; one that the book does not know yet has no errors that are known."""
    if name is None:
        return OfGauge(-1)
    return before.gauges.get(name, OfGauge(len(before.gauges)))


def _next(numbers: Numbers) -> int:
    return int(numbers.max(initial=-1)) + 1
