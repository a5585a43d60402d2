"""What the book's own checks say of a value as it is typed, in their own words, and where it lies on its curve."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from springfit.bench.entry.bench_sheet import BenchSheet
from springfit.bench.entry.entry_place import Place, Taken
from springfit.bench.judging.beside_bells import beside_bells
from springfit.bench.judging.on_its_ring import ring_slip
from springfit.bench.judging.typed_readings import (
    BENCH,
    NO_READINGS,
    TypedReadings,
    measured,
    readings_of,
    stated_sheet_wall,
    typed_readings,
)
from springfit.bench.judging.way_before import WayBefore
from springfit.findings import Finding
from springfit.records.checks.mistakes import UNTIL_CORRECTED, lies_off, mistake_words, on_the_steel
from springfit.records.checks.slips.compared_readings import expected
from springfit.records.checks.slips.reading_slips import is_slip, slip_words
from springfit.records.checks.unusual_sizes import is_odd, odd_words
from springfit.records.reading_kinds import KINDS

__all__ = ["Dot", "Judged", "dots_of", "judged"]

Dot = tuple[float, float]
_NOWHERE = (float("nan"), float("nan"))


@dataclass(frozen=True)
class Judged:
    """What is said of one value: `findings` about it, and its `dot`: station and distance off the steel [mm]."""

    findings: tuple[Finding, ...] = ()
    dot: Dot = _NOWHERE


def judged(before: WayBefore, sheet: BenchSheet, place: Place) -> Judged:
    """Judges the value that stands at `place` against the steel, the wall, its neighbours and the bells before."""
    rows = readings_of(sheet, place)
    taken = next((taken for there, taken in rows if there == place), None)
    if taken is None:
        return Judged()
    length = measured(place, taken)
    if isinstance(length, Finding):
        return Judged((length,))
    odd = _odd(before, sheet, place, taken, length)
    if place.kind == "wall":
        return Judged(odd, (place.fixed_mm, length))
    places, typed = _fine(before, sheet, rows)
    number = places.index(place)
    answered = any(one.answer for _, one in rows)  # the sheet was doubted, read again, and stands
    off = () if answered or not KINDS[place.kind].diameter else _off(before, place, taken, typed)
    # As in the whole book: a sheet that is off as a whole is not looked through value by value.
    slips = () if off else _slip(before, sheet, places, typed, number, taken)
    return Judged((*off, *slips, *odd), _dots(place.kind, typed)[number])


def dots_of(before: WayBefore, sheet: BenchSheet, place: Place, most: int) -> list[Dot]:
    """The dots of the newest values, `most` of them, that stand where `place` is one of."""
    rows = readings_of(sheet, place)
    if place.kind == "wall":
        walls = [(there.fixed_mm, measured(there, taken)) for there, taken in rows[-most:]]
        return [(station, wall) for station, wall in walls if not isinstance(wall, Finding)]
    return _dots(place.kind, _fine(before, sheet, rows)[1])[-most:]


def _fine(
    before: WayBefore, sheet: BenchSheet, rows: Sequence[tuple[Place, Taken]]
) -> tuple[list[Place], TypedReadings]:
    """The places whose values can be, and those on the steel."""
    lengths = {place: measured(place, taken) for place, taken in rows}
    fine = {place: length for place, length in lengths.items() if not isinstance(length, Finding)}
    places = list(fine)
    return places, typed_readings(before, sheet, places, list(fine.values())) if places else NO_READINGS


def _dots(kind: str, typed: TypedReadings) -> list[Dot]:
    station = typed.z if kind == "clearance" else typed.station
    return list(zip(station.tolist(), typed.gap.tolist(), strict=True))


def _odd(before: WayBefore, sheet: BenchSheet, place: Place, taken: Taken, length: float) -> tuple[Finding, ...]:
    """A clearance or a wall that no seated bell can have."""
    wall = stated_sheet_wall(before, sheet, place.bell)
    if not is_odd(place.kind, np.array([length]), np.array([wall]))[0]:
        return ()
    what, usual, remedy = odd_words(place.bell, place.kind, 1, length, before.units)
    return (
        Finding("doubt", BENCH, None, f"value_{taken.unit}", what, usual, remedy, place.bell, sets_aside=True),
    )


def _off(before: WayBefore, place: Place, taken: Taken, typed: TypedReadings) -> tuple[Finding, ...]:
    """The mistake that explains a sheet which lies off its steel as a whole. One value decides: the bell is at hand."""
    known = np.isfinite(typed.gap)
    slope = before.steel.slope_at(typed.station)
    if not known.any() or not lies_off(typed.gap[known], typed.wall, slope[known]):
        return ()
    rows = pd.DataFrame(
        {
            "z_mm": typed.z, "value_mm": typed.value, "station_mm": typed.station, "gap_mm": typed.gap,
            "wall_mm": typed.wall, "wall_crossed_mm": typed.crossed, "rim_mm": typed.rim, "datum": place.datum,
            "kind": place.kind, "fitted": typed.fitted,
        }
    )[known]  # fmt: skip
    way = (place.bell, place.stage, place.kind, place.datum)
    what = mistake_words(way, rows, before.steel, [before.steel], units=before.units)
    if what is None:
        return ()
    column = f"value_{place.unit if place.kind == 'axial_at_diameter' else taken.unit}"
    usual = on_the_steel(before.units)
    return (Finding("doubt", BENCH, None, column, what, usual, UNTIL_CORRECTED, place.bell, sets_aside=True),)


def _slip(
    before: WayBefore, sheet: BenchSheet, places: list[Place], typed: TypedReadings, number: int, taken: Taken
) -> tuple[Finding, ...]:
    """The value as a slip: borne out neither by its neighbours nor by the bells before."""
    if typed.fitted or not np.isfinite(typed.station[number] + typed.gap[number]):
        return ()
    rows, of_own = beside_bells(before, sheet.subject, places, typed)
    at, said = int(of_own[number]), expected(rows)
    if not is_slip(said.away[[at]], said.sd[[at]], said.borne_out[[at]])[0]:
        slips = np.flatnonzero(is_slip(said.away, said.sd, said.borne_out))
        return ring_slip(rows, said, slips, places, typed, (of_own, number), taken.unit)
    place = places[number]
    length = typed.z[number] if place.kind == "axial_at_diameter" else typed.value[number]
    words = slip_words(
        place.bell, place.kind, taken.unit, float(length), away=float(said.away[at]), sd=float(said.sd[at]),
        slope=float(rows.slope[at]), per_value=float(rows.per_value[at]),
    )  # fmt: skip
    column = words.column.replace("mm", taken.unit)
    return (
        Finding(
            "doubt", BENCH, None, column, words.what, words.expected, words.remedy, place.bell, sets_row_aside=True
        ),
    )  # fmt: skip
