"""The one summary of a correction: HTML and PDF both print it, word for word and digit for digit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from springfit.reporting.pages.back_pages import (
    as_cut_sheet,
    cut_sheet,
    error_sheet,
    facet_sheet,
    inspection_sheet,
)
from springfit.reporting.pages.bells_sheet import bells_sheet, largest_measured
from springfit.reporting.pages.evidence_sheet import evidence_sheet
from springfit.reporting.pages.printed_tables import Number, Sheet
from springfit.reporting.wording.cannot_tell import limits_of
from springfit.reporting.wording.chance_wording import chance
from springfit.reporting.wording.column_labels import units_line
from springfit.reporting.wording.correction_notes import notes_of
from springfit.reporting.wording.length_wording import Units, amount, bare_amount, others, place
from springfit.reporting.wording.places import diameter_at, row_at
from springfit.reporting.wording.reason_wording import LEAST_MOVE_MM, reason_words
from springfit.reporting.wording.settling_wording import dearest_words, settling_words
from springfit.reporting.wording.verdict_wording import (
    CAUTIONS,
    NO_CUT,
    ONE_WAY,
    action_of,
    sentence,
    unbroken,
    word_of,
)
from springfit.reporting.wording.zones import is_cut, stretches

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction
    from springfit.decisions.verdict.decision_case import Verdict
    from springfit.reporting.stored_reports import StoredReport

__all__ = ["Summary", "Tables", "dated", "summarise"]


_WORTH_A_REASON = 0.1  # of a chance: what bands of nine in ten leave out anyhow


@dataclass(frozen=True)
class Tables:
    """The tables behind page one."""

    cut_table: Sheet
    inspection: Sheet
    as_cut: Sheet
    errors: Sheet
    facets: Sheet
    evidence: Sheet
    bells: Sheet


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
    tables: Tables
    notes: tuple[str, ...]
    footer: str
    changes: tuple[str, ...] = ()
    settling: tuple[str, ...] = ()


def dated(summary: Summary, written: str, before: StoredReport | None, changes: tuple[str, ...]) -> Summary:
    """The summary with its date, and what changed since the report before it."""
    earlier = f" · before it {before.written[:10]}" if before else ""
    return replace(summary, footer=f"{written[:10]} · {summary.footer}{earlier}", changes=changes)


def summarise(correction: Correction, *, units: Units) -> Summary:
    """The summary of a correction in `units`."""
    job = correction.job
    made_of = f"{job.mandrel_id}, revision {job.revision}"
    return Summary(
        title=f"Mandrel {made_of}: correction for {job.target_id}",
        units_line=units_line(units, amounts="removal is"),
        word=word_of(correction.verdict),
        action=action_of(
            correction.verdict, units,
            deepest=_deepest(correction, units), sooner=dearest_words(correction, units),
        ),
        reason=sentence(reason_words(correction.verdict.reason, units)),
        numbers=_five_numbers(correction, units),
        limits=tuple(map(unbroken, limits_of(correction, units=units))),
        one_way=ONE_WAY if is_cut(correction.stations).any() else NO_CUT,
        cautions=CAUTIONS,
        tables=Tables(
            cut_table=cut_sheet(correction, units=units),
            inspection=inspection_sheet(correction, units=units),
            as_cut=as_cut_sheet(correction, units=units),
            errors=error_sheet(correction, units=units),
            facets=facet_sheet(correction, units=units),
            evidence=evidence_sheet(correction, units=units),
            bells=bells_sheet(correction, units=units),
        ),
        notes=tuple(map(unbroken, notes_of(correction, units=units))),
        settling=settling_words(correction, units),
        footer=f"{made_of} · records {correction.book_digest[:12]} · model {correction.model_version}",
    )


def _five_numbers(correction: Correction, units: Units) -> tuple[Number, ...]:
    numbers = (
        _error_now(correction, units),
        _cut_now(correction, units),
        _move(correction, units),
        _risk(correction, units),
        Number(*largest_measured(correction, units)),
    )
    return tuple(replace(number, detail=unbroken(number.detail)) for number in numbers)


def _error_now(correction: Correction, units: Units) -> Number:
    """The largest error of the bell as it is, its place and its three parts."""
    label, verdict, stations = "Largest error forecast", correction.verdict, correction.stations
    z = verdict.largest_error_at_mm
    if not np.isfinite(z):
        return Number(label, amount(verdict.largest_error_mm, units, signed=True), "nowhere to judge")
    row = stations.iloc[row_at(stations, z)]
    steel, springback = (
        bare_amount(float(row[f"error_{part}_mm"]), units, signed=True) for part in ("steel", "springback")
    )
    unexplained = amount(float(row["error_unexplained_mm"]), units, signed=True)
    parts = f"steel {steel}, springback {springback}, unexplained {unexplained}"
    error = verdict.largest_error_mm
    way = "large" if error >= 0.0 else "small"
    where = _where(correction, z, units)
    said = f"{others(error, units)}; bell too {way}, per side, at {where}. {sentence(parts)}"
    return Number(label, amount(error, units, signed=True), said)


def _cut_now(correction: Correction, units: Units) -> Number:
    """The deepest cautious cut, its place and the stretch that is cut."""
    label, verdict, stations = "Deepest cut now", correction.verdict, correction.stations
    cut = is_cut(stations)
    if not cut.any():
        return Number(label, "none", "No steel is to come off.")
    where = stretches(stations["z_mm"].to_numpy(float), cut, units)
    depth = verdict.largest_cut_mm
    deepest = f"PER SIDE, square to the surface, at {_deepest(correction, units)}"
    sure = float(stations["sure_removal_mm"].iloc[row_at(stations, verdict.largest_cut_at_mm)])
    surely = f" Sure there, by forecast and bells: {amount(sure, units)}." if np.isfinite(sure) else ""
    return Number(label, amount(depth, units), f"{others(depth, units)}; {deepest}. Cut only {where}.{surely}")


def _move(correction: Correction, units: Units) -> Number:
    """The axial move of the whole bell, which costs no steel, and how much of it is allowed."""
    label, slide = "Move the bell", correction.verdict.slide_mm
    most = correction.job.slide_allowance_mm
    allowed = f"Allowed: {amount(most, units)}." if most >= LEAST_MOVE_MM else "The target allows no move."
    if abs(slide) < LEAST_MOVE_MM:
        return Number(label, "none", f"The bell stays where it is along the axis. {allowed}")
    if slide < 0.0 and is_cut(correction.stations).any():
        how = (
            "the new line is turned that much further toward the rim, as the table has it"
        )
        return Number("Line moved", amount(-slide, units), f"{others(slide, units)}; {how}. {allowed}")
    way = "RIM" if slide > 0.0 else "TAIL"
    how = "by where the flare is set, or the trim line"
    said = f"{others(slide, units)}; whole bell, TOWARD THE {way}, {how}. {allowed}"
    return Number(label, amount(abs(slide), units), said)


def _risk(correction: Correction, units: Units) -> Number:
    """The chance that the next batch is out of tolerance, as things are and when the verdict is followed."""
    label, verdict = "Risk, next batch", correction.verdict
    now, then = unbroken(chance(verdict.chance_out_before)), unbroken(chance(verdict.chance_out_after))
    out = f"that its mean is out somewhere by over {amount(correction.job.tolerance_mm, units)} per side"
    if now == then:
        return Number(label, now, f"Chance {out}.{_why_risky(verdict)}")
    return Number(label, f"{now} → {then}", f"Chance {out}, now → when this is followed.{_why_risky(verdict)}")


def _why_risky(verdict: Verdict) -> str:
    """What of a risk that stays no steel can mend, so that advice and risk do not gainsay one another."""
    stays, scatter = verdict.chance_out_after, verdict.chance_out_scatter
    if not (stays > _WORTH_A_REASON and np.isfinite(scatter)):
        return ""
    part = unbroken(chance(scatter))
    told = f" On perfect steel it would be {part}: batches scatter, and no steel mends that"
    if stays - scatter <= _WORTH_A_REASON:
        return f"{told}."
    unsure = verdict.verdict in ("slide", "leave", "wait")
    return f"{told}. The rest is {'how little the mean is known yet' if unsure else 'what is left for later'}."


def _deepest(correction: Correction, units: Units) -> str:
    """Where the deepest cut is; empty when nothing is cut."""
    z = correction.verdict.largest_cut_at_mm
    return _where(correction, z, units) if np.isfinite(z) else ""


def _where(correction: Correction, z_mm: float, units: Units) -> str:
    """`z 427.0, Ø 120.1` of the present steel, unbroken at a line's end."""
    diameter = diameter_at(correction.stations, z_mm)
    return f"z\u00a0{place(z_mm, units)}, Ø\u00a0{place(diameter, units)}"
