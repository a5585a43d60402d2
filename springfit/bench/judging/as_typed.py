"""What the book's own checks say of a value as it is typed, in their own words, and where it lies on its curve."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from springfit.bench.entry.bench_sheet import BenchSheet
from springfit.bench.entry.entry_place import Place, Taken
from springfit.bench.judging.near_book import BENCH, readings_of, with_readings
from springfit.findings import Finding
from springfit.lengths import from_mm, parse_length
from springfit.records.book import Book
from springfit.records.checks.mistakes import sheets_off_the_steel
from springfit.records.checks.rough_gaps import mandrel_profiles, rough_gaps
from springfit.records.checks.slips.reading_slips import reading_slips
from springfit.records.checks.unusual_sizes import odd_readings
from springfit.records.reading_kinds import DIAMETERS
from springfit.records.tables import TABLES

__all__ = ["Judged", "judged"]

_NOWHERE = (float("nan"), float("nan"))


@dataclass(frozen=True)
class Judged:
    """What is said of one value: `findings` about it, and its `dot`: station and distance off the steel [mm]."""

    findings: tuple[Finding, ...] = ()
    dot: tuple[float, float] = _NOWHERE


def judged(near: Book, sheet: BenchSheet, place: Place, *, mandrel_id: str, revision: int) -> Judged:
    """Judges the value that stands at `place` against the steel, the wall, its neighbours and the bells of `near`."""
    rows = readings_of(sheet, place)
    number = next((n for n, (there, _) in enumerate(rows) if there == place), None)
    if number is None:
        return Judged()
    taken = rows[number][1]
    refused = _impossible(place, taken)
    if refused:
        return Judged((refused,))
    # The one in question last: its unit is the one that is spoken.
    rows = [*(row for n, row in enumerate(rows) if n != number and not _impossible(*row)), rows[number]]
    book = with_readings(near, sheet, rows, mandrel_id=mandrel_id, revision=revision)
    if place.kind not in (*DIAMETERS, "clearance"):
        return Judged(_about(odd_readings(book), len(rows)), (place.fixed_mm, parse_length(taken.typed, taken.unit)))
    return _on_steel(book, place, rows)


def _on_steel(book: Book, place: Place, rows: Sequence[tuple[Place, Taken]]) -> Judged:
    of = mandrel_profiles(book)
    readings = rough_gaps(book, of)
    own = readings[readings["bell_id"] == place.bell]
    answered = any(taken.answer for _, taken in rows)  # the sheet was doubted, read again, and stands
    off = [] if answered else sheets_off_the_steel(book, own, of, fewest=1)
    # As in the whole book: a sheet that is off as a whole is not looked through value by value.
    slips = [] if off else reading_slips(book, readings, of)
    wide = odd_readings(book) if place.kind == "clearance" else []
    whole = [finding for finding in off if finding.subject == place.bell]
    return Judged((*whole, *_about([*slips, *wide], len(rows))), _dot(book, own, place, rows))


def _about(findings: Sequence[Finding], row: int) -> tuple[Finding, ...]:
    """Those about one row of the bench's own."""
    return tuple(finding for finding in findings if finding.file == BENCH and finding.row == row)


def _dot(book: Book, own: object, place: Place, rows: Sequence[tuple[Place, Taken]]) -> tuple[float, float]:
    last = rows[-1]
    if place.kind == "clearance":
        return place.fixed_mm, parse_length(last[1].typed, last[1].unit)
    at = book.measurements.index[-1]
    if at not in own.index:  # type: ignore[attr-defined]
        return _NOWHERE
    return float(own.at[at, "station_mm"]), float(own.at[at, "gap_mm"])  # type: ignore[attr-defined]


def _impossible(place: Place, taken: Taken) -> Finding | None:
    """The error of a value that cannot be, as reading the book would say it; None for one that can be."""
    swapped = place.kind == "axial_at_diameter"
    name = "z" if swapped else "value"
    column, header = TABLES["measurements"].by_name[name], f"{name}_{taken.unit}"
    try:
        value = parse_length(taken.typed, taken.unit)
    except ValueError as unfit:
        return Finding("error", BENCH, None, header, str(unfit), "a number, such as 2.375" + _fraction(taken.unit))
    low, high = column.low, column.high
    if not swapped:
        low = 0.0 if place.kind == "clearance" else float(np.nextafter(0.0, 1.0))
    if (low is not None and value < low) or (high is not None and value > high):
        bounds = f"{from_mm(low or 0.0, taken.unit):.6g} to {from_mm(high or 0.0, taken.unit):.6g} {taken.unit}"
        return Finding("error", BENCH, None, header, f"found {taken.typed}", bounds, "read it again")
    return None


def _fraction(unit: str) -> str:
    return " or 2-3/8" if unit == "in" else ""
