"""The one summary of a correction: HTML and PDF both print it, word for word and digit for digit."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from springfit.reporting.pages.back_pages import (
    as_cut_sheet,
    cut_sheet,
    error_sheet,
    facet_sheet,
    inspection_sheet,
)
from springfit.reporting.pages.bells_sheet import bells_sheet
from springfit.reporting.pages.evidence_sheet import evidence_sheet
from springfit.reporting.pages.five_numbers import deepest_place, five_numbers
from springfit.reporting.pages.printed_tables import Number, Sheet
from springfit.reporting.wording.cannot_tell import limits_of
from springfit.reporting.wording.column_labels import units_line
from springfit.reporting.wording.correction_notes import notes_of
from springfit.reporting.wording.length_wording import Units
from springfit.reporting.wording.places import across_words
from springfit.reporting.wording.reason_wording import reason_words
from springfit.reporting.wording.settling_wording import dearest_words, settling_words
from springfit.reporting.wording.verdict_wording import (
    CAUTIONS,
    NEW_LINE,
    NO_CUT,
    ONE_WAY,
    action_of,
    sentence,
    unbroken,
    word_of,
)
from springfit.reporting.wording.zones import is_cut

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction
    from springfit.reporting.stored_reports import StoredReport

__all__ = ["Summary", "Tables", "dated", "summarise"]


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
        units_line=units_line(
            units, amounts="error and removal are", square=f", {across_words(correction.stations)}"
        ),
        word=word_of(correction.verdict),
        action=action_of(
            correction.verdict, units,
            deepest=deepest_place(correction, units), sooner=dearest_words(correction, units),
        ),
        reason=sentence(reason_words(correction.verdict.reason, units)),
        numbers=five_numbers(correction, units),
        limits=tuple(map(unbroken, limits_of(correction, units=units))),
        one_way=_one_way(correction),
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


def _one_way(correction: Correction) -> str:
    """What is said of steel that is gone, for a cut, a new flare, and where nothing is turned."""
    if is_cut(correction.stations).any():
        return ONE_WAY
    return NEW_LINE if len(correction.cut_table) else NO_CUT
