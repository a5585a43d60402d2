"""The one summary of a correction: HTML and PDF both print it, word for word and digit for digit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from springfit.reporting.amounts import Units, amount, both_ways, place
from springfit.reporting.limits import limits_of
from springfit.reporting.sheets import Sheet, inspection_sheet, printed
from springfit.reporting.wording import CAUTIONS, ONE_WAY, action_of, sentence, units_line, word_of
from springfit.reporting.zones import is_cut, is_masked, row_at, runs

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction

__all__ = ["Number", "Summary", "summarise"]


@dataclass(frozen=True)
class Number:
    """One of the five numbers of page one: what it is, the number, and what belongs to it."""

    label: str
    value: str
    detail: str


@dataclass(frozen=True)
class Summary:
    """Everything the report of a correction says, as text; pictures and CSV files stand beside it."""

    title: str
    units_line: str
    word: str
    action: str
    reason: str
    numbers: tuple[Number, ...]
    limits: tuple[str, ...]
    one_way: str
    cautions: str
    cut_table: Sheet
    facets: Sheet
    evidence: Sheet
    inspection: Sheet
    notes: tuple[str, ...]
    footer: str


def summarise(correction: Correction, *, units: Units) -> Summary:
    """The summary of a correction in `units`."""
    made_of = f"{correction.mandrel_id}, revision {correction.revision}"
    return Summary(
        title=f"Mandrel {made_of}: correction for {correction.target_id}",
        units_line=units_line(units, amounts="removal is"),
        word=word_of(correction.verdict),
        action=action_of(correction.verdict, units),
        reason=sentence(correction.verdict.reason),
        numbers=_five_numbers(correction, units),
        limits=limits_of(correction, units=units),
        one_way=ONE_WAY,
        cautions=CAUTIONS,
        cut_table=printed(
            correction.cut_table,
            "Cut table",
            units=units,
            note=f"All in {units}. Ø are diameters. Never go below a size marked do not pass.",
            empty="No steel is to be cut, so there is no cut table.",
        ),
        facets=printed(
            correction.facets,
            "Facets",
            units=units,
            note=f"All lengths in {units}.",
            empty="No facets were found on this mandrel or its target.",
        ),
        evidence=_evidence(correction, units),
        inspection=inspection_sheet(correction, units=units),
        notes=tuple(dict.fromkeys((*correction.notes, *correction.corrected_forecast.level_notes))),
        footer=f"{made_of} · records {correction.book_digest[:12]} · model {correction.model_version}",
    )


def _five_numbers(correction: Correction, units: Units) -> tuple[Number, ...]:
    verdict = correction.verdict
    return (
        _error_now(correction, units),
        _cut_now(correction, units),
        Number(
            "Move along the axis",
            both_ways(verdict.slide_mm, units, signed=True),
            f"of the whole flare, + toward the rim; the target allows {both_ways(correction.slide_allowance_mm, units)}",
        ),
        Number(
            "Chance the next batch is out",
            f"{_percent(verdict.chance_out_before)} → {_percent(verdict.chance_out_after)}",
            f"now → when this is followed; its mean, at its worst place, beyond ±{both_ways(correction.tolerance_mm, units)} per side",
        ),
        Number(
            "Measured", f"{correction.batches_used} batches", f"{correction.bells_used} bells of this mandrel"
        ),
    )


def _error_now(correction: Correction, units: Units) -> Number:
    """The largest error of the bell as it is, its place and its three parts."""
    verdict, stations = correction.verdict, correction.stations
    if not np.isfinite(verdict.largest_error_at_mm):
        return Number(
            "Largest error now", both_ways(verdict.largest_error_mm, units, signed=True), "per side"
        )
    row = stations.iloc[row_at(stations, verdict.largest_error_at_mm)]
    parts = ", ".join(
        f"{part} {amount(float(row[f'error_{part}_mm']), units, signed=True)}"
        for part in ("steel", "springback", "unexplained")
    )
    return Number(
        "Largest error now",
        both_ways(float(row["error_mm"]), units, signed=True),
        f"per side, + bell too large, {_where(row, units)}: {parts}",
    )


def _cut_now(correction: Correction, units: Units) -> Number:
    """The deepest cautious cut, its place and the stretch that is cut."""
    verdict, stations = correction.verdict, correction.stations
    cut = is_cut(stations)
    if not cut.any():
        return Number("Deepest cut now", "none", "no steel is to come off")
    row = stations.iloc[row_at(stations, verdict.largest_cut_at_mm)]
    z = stations["z_mm"].to_numpy(float)
    stretches = " and ".join(f"z {place(z[a], units)} to {place(z[b], units)}" for a, b in runs(cut))
    return Number(
        "Deepest cut now",
        both_ways(verdict.largest_cut_mm, units),
        f"PER SIDE, {_where(row, units)}; cut only {stretches}",
    )


def _evidence(correction: Correction, units: Units) -> Sheet:
    """What the correction rests on and how the model that made it was checked."""
    forecast = correction.forecast
    judged = ~is_masked(correction.stations)
    trust = correction.stations["trust"].astype(str)[judged].value_counts(normalize=True)
    rows = (
        ("Batches and bells used", f"{correction.batches_used} batches, {correction.bells_used} bells"),
        ("Worth of the evidence", f"{forecast.degrees_of_freedom:.1f} degrees of freedom"),
        (
            "Where the forecast stands",
            ", ".join(f"{name.replace('_', ' ')} {_percent(v)}" for name, v in trust.items()),
        ),
        ("Best slide of the forecast", both_ways(forecast.slide_mm, units, signed=True)),
        ("Model", correction.model_version),
        ("Records read", correction.book_digest[:12]),
    )
    return Sheet("Evidence and model check", "", ("", ""), rows)


def _where(row: object, units: Units) -> str:
    """`z 427.0, Ø 120.1` of a row of stations."""
    z, diameter = row["z_mm"], row["present_diameter_mm"]  # type: ignore[index]
    return f"z {place(float(z), units)}, Ø {place(float(diameter), units)}"


def _percent(share: float) -> str:
    """A chance in whole per cent, never rounded to certainty."""
    if not np.isfinite(share):
        return "not known"
    if 0.0 < share < 0.01:
        return "under 1 %"
    if 0.99 < share < 1.0:
        return "over 99 %"
    return f"{100.0 * share:.0f} %"
