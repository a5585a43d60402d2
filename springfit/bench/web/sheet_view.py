"""A sheet in the making as its page needs it: what stands on it, and the ways its mandrel was measured before."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import Any

import pandas as pd

from springfit.bench.entry.bench_sheet import BenchSheet
from springfit.bench.entry.entry_place import Place
from springfit.bench.judging.as_typed import Judged
from springfit.bench.judging.judge import Judge, steel_of
from springfit.bench.shop_numbers import shop_number, unit_of_reading
from springfit.bench.web.field_words import DATUM_WORDS, KIND_WORDS, STAGE_WORDS
from springfit.findings import Finding
from springfit.lengths import from_mm
from springfit.records.book import Book
from springfit.reporting.wording.length_wording import Units, small_unit

__all__ = ["curve_view", "judged_view", "sheet_view"]

_MOST_WAYS = 8  # of measuring that are offered: what fits on a phone
_MOST_DOTS = 60  # a phone shows no more
_OWN_KINDS = {"mandrel": "steel", "target": "target"}


def sheet_view(sheet: BenchSheet, book: Book | None) -> dict[str, Any]:
    """Everything that the page of a sheet shows."""
    steel = None if book is None else steel_of(book, sheet)
    gauges = [] if book is None else [
        {"id": str(name), "what": what or ""} for name, what in zip(book.gauges["gauge_id"], book.gauges["what"],
                                                                     strict=True)
    ]  # fmt: skip
    return {
        "id": sheet.sheet_id, "kind": sheet.kind, "subject": sheet.subject, "unit": sheet.unit, "known": sheet.known,
        "mandrel": steel[0] if steel else "", "revision": steel[1] if steel else None,
        "bells": _bells(sheet, book), "gauges": gauges, "kinds": _kinds(sheet), "ways": _ways(sheet, book, steel),
        "datums": [{"name": name, "label": label} for name, label in DATUM_WORDS.items()],
        "stages": [{"name": name, "label": label} for name, label in STAGE_WORDS.items()],
        "witness": _witness(book, steel, sheet.unit), "line": _line(sheet, book),
        "length": _length(book, steel, sheet.unit),
        "readings": [{"place": place.as_json(), "taken": asdict(taken)} for place, taken in sheet.readings.items()],
    }  # fmt: skip


def judged_view(said: Judged, place: Place, units: Units, *, answered: bool) -> dict[str, Any]:
    """Doubts as the page asks them, and the dot in the shop's units; a doubt that was answered is not asked again."""
    asked = [finding for finding in said.findings if finding.grade == "error" or not answered]
    return {"doubts": [_doubt(finding) for finding in asked], "dot": _point(said.dot, units)}


def curve_view(judge: Judge, sheet: BenchSheet, place: Place, units: Units) -> dict[str, Any]:
    """The bells before as a ribbon, and a dot for each value of the bell, in the shop's units."""
    ribbon = [
        [from_mm(z, units), from_mm(low, small_unit(units)), from_mm(high, small_unit(units))]
        for z, low, high in judge.curve(sheet, place)
    ]
    dots = [_point(dot, units) for dot in judge.dots(sheet, place, _MOST_DOTS)]
    return {
        "ribbon": ribbon, "dots": [dot for dot in dots if dot], "unit": small_unit(units), "station_unit": units,
    }  # fmt: skip


def _doubt(finding: Finding) -> dict[str, str]:
    """What is asked of the value at hand: whose it is and how it was taken stand above it already."""
    what = finding.what.removeprefix(f"bell {finding.subject!r}: ").removeprefix(f"bell {finding.subject!r}, ")
    said = {"what": what, "expected": finding.expected, "remedy": finding.remedy}
    return {"grade": finding.grade, **{name: _spoken(text) for name, text in said.items()}}


def _spoken(text: str) -> str:
    """A sentence of the checks with the words of a table as a person says them."""
    for name in (*KIND_WORDS, *DATUM_WORDS):
        text = text.replace(name, name.replace("_", " "))
    return text


def _point(dot: tuple[float, float], units: Units) -> list[float] | None:
    if not all(math.isfinite(part) for part in dot):
        return None
    return [round(from_mm(dot[0], units), 4), round(from_mm(dot[1], small_unit(units)), 3)]


def _bells(sheet: BenchSheet, book: Book | None) -> list[dict[str, Any]]:
    """The bells begun on the sheet, then those that the book has of the batch."""
    begun = [{"id": bell, "cells": dict(cells)} for bell, cells in sheet.bells.items()]
    if book is None or not sheet.known:
        return begun
    known = book.bells[book.bells["batch_id"] == sheet.subject]["bell_id"]
    return begun + [{"id": str(bell), "cells": {"known": "yes"}} for bell in known if bell not in sheet.bells]


def _kinds(sheet: BenchSheet) -> list[dict[str, str]]:
    own = _OWN_KINDS.get(sheet.kind)
    names = [own] if own else [name for name in KIND_WORDS if name not in _OWN_KINDS.values()]
    return [
        {"name": name, "label": KIND_WORDS[name].label, "asks": KIND_WORDS[name].asks, "sets": KIND_WORDS[name].sets,
         "unit": unit_of_reading(name, sheet.unit), "fixed_unit": sheet.unit}
        for name in names
    ]  # fmt: skip


def _length(book: Book | None, steel: tuple[str, int] | None, unit: str) -> str:
    """The mandrel's last station, as typed."""
    if book is None or steel is None:
        return ""
    return shop_number(float(book.profile(*steel)[0][-1]), unit)


def _witness(book: Book | None, steel: tuple[str, int] | None, unit: str) -> str:
    """Where the line was scribed on the mandrel's newest bell that has one, as typed."""
    if book is None or steel is None:
        return ""
    batches = book.batches[book.batches["mandrel_id"] == steel[0]].sort_values("spun_on", kind="stable")
    rank = dict(zip(batches["batch_id"], range(len(batches)), strict=True))
    bells = book.bells[book.bells["batch_id"].isin(batches["batch_id"]) & book.bells["witness_z_mm"].notna()]
    if not len(bells):
        return ""
    newest = bells["batch_id"].map(rank).to_numpy(float).argmax()
    return shop_number(float(bells["witness_z_mm"].to_numpy(float)[newest]), unit)


def _line(sheet: BenchSheet, book: Book | None) -> list[list[str]]:
    """The newest line of the mandrel that a bell is wanted of, as typed."""
    if book is None or sheet.kind != "target":
        return []
    rows = book.mandrels[book.mandrels["mandrel_id"] == sheet.cells.get("mandrel_id")]
    if not len(rows):
        return []
    z, diameter = book.profile(str(rows["mandrel_id"].iloc[0]), int(rows["revision"].max()))
    return [[shop_number(a, sheet.unit), shop_number(b, sheet.unit)] for a, b in zip(z, diameter, strict=True)]


def _ways(sheet: BenchSheet, book: Book | None, steel: tuple[str, int] | None) -> list[dict[str, Any]]:
    """How bells of the mandrel were measured before, newest first: each with its stations."""
    if book is None or steel is None:
        return []
    batches = book.batches[book.batches["mandrel_id"] == steel[0]].sort_values("spun_on", ascending=False)
    bells = book.bells[book.bells["batch_id"].isin(batches["batch_id"])]
    rank = bells["batch_id"].map(dict(zip(batches["batch_id"], range(len(batches)), strict=True)))
    rank_of = dict(zip(bells["bell_id"], rank, strict=True))
    read = book.measurements[book.measurements["bell_id"].isin(bells["bell_id"])]
    read = read.assign(rank=read["bell_id"].map(rank_of)).sort_values("rank", kind="stable")
    ways: list[dict[str, Any]] = []
    for (stage, kind, datum, gauge), rows in read.groupby(["stage", "kind", "datum", "gauge_id"], sort=False):
        if datum != "free" and len(ways) < _MOST_WAYS:
            newest = rows[rows["bell_id"] == rows["bell_id"].iloc[0]]
            ways.append(_way(newest, str(stage), str(kind), str(datum), str(gauge), sheet.unit))
    return ways


def _way(rows: pd.DataFrame, stage: str, kind: str, datum: str, gauge: str, unit: str) -> dict[str, Any]:
    fixed = rows["value_mm" if kind == "axial_at_diameter" else "z_mm"]
    angles = sorted({shop_angle(one) for one in rows["angle_deg"]}, key=lambda text: float(text or 0))
    return {
        "stage": stage, "kind": kind, "datum": datum, "gauge": gauge, "angles": angles,
        "stations": [shop_number(float(one), unit) for one in sorted(set(fixed))],
        "label": f"{KIND_WORDS[kind].label}, {STAGE_WORDS[stage].lower()}, {DATUM_WORDS[datum].lower()}, {gauge}",
    }  # fmt: skip


def shop_angle(degrees: float) -> str:
    """Degrees from the seam as text; empty where unknown."""
    return "" if math.isnan(degrees) else f"{degrees:g}"
