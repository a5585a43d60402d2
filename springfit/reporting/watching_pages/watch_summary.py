"""The summary of a watch, as its page and its paper print it: one text for both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from springfit.reporting.pages.printed_tables import Number, Sheet
from springfit.reporting.watching_pages.fault_wording import (
    fault_title,
    group_words,
    settle_words,
    size_words,
)
from springfit.reporting.watching_pages.gauge_wording import (
    change_words,
    gauge_rows,
    gauge_sheet,
    spread_sheet,
    study_words,
)
from springfit.reporting.watching_pages.glance_wording import done_words, next_words
from springfit.reporting.watching_pages.history_wording import wear_words
from springfit.reporting.watching_pages.watch_wording import (
    CANNOT_TELL,
    action_words,
    reason_words,
    size_words_of_batch,
    state_word,
    zone_words,
)
from springfit.reporting.wording.column_labels import units_line
from springfit.reporting.wording.length_wording import Units, place
from springfit.reporting.wording.verdict_wording import unbroken
from springfit.watching.batch_states import BatchState
from springfit.watching.shop_glance import MandrelRow
from springfit.watching.signatures.naming import Named
from springfit.watching.watch import Watch

__all__ = ["FoundFault", "WatchSummary", "glance_sheet", "summarise_watch"]

_MOST_DOUBTS = 12  # a screenful; the check lists them all
_MOST_BELLS = 6  # named one by one: what a line holds


@dataclass(frozen=True)
class FoundFault:
    """A fault as it is printed: its title, where, what speaks for it and against, and the check that settles it."""

    title: str
    where: str
    speaks_for: str
    against: str
    settle: str


@dataclass(frozen=True)
class WatchSummary:
    """Everything that page one of a watch says of one batch, as text, and the shop around it."""

    title: str
    units_line: str
    batch: str
    word: str
    action: str
    reason: str
    size: str
    zones: tuple[Number, ...]
    faults: tuple[FoundFault, ...]
    doubts: tuple[str, ...]
    limits: tuple[str, ...]
    glance: Sheet
    gauges: Sheet
    gauge_rows: tuple[str, ...]
    study: str
    changes: str
    spread: Sheet
    wear: tuple[str, ...]
    footer: str


def summarise_watch(watched: Watch, batch: BatchState, rows: Sequence[MandrelRow], *, units: Units) -> WatchSummary:
    """The summary of one batch of a watch, `rows` the shop at a glance."""
    one, zones = batch.judged, []
    for zone in batch.zones:
        value, detail = zone_words(zone, units)
        zones.append(Number(zone.score.zone, value, unbroken(detail)))
    doubts = [doubt.line() for doubt in watched.doubts]
    more = len(doubts) - _MOST_DOUBTS
    shown = (*doubts[:_MOST_DOUBTS], *([f"… and {more} more: springfit check lists them all"] if more > 0 else []))
    return WatchSummary(
        title=f"Is batch {one.batch_id} normal? Mandrel {one.mandrel_id}, revision {one.revision}, spun {one.spun_on}",
        units_line=units_line(units, amounts="gaps and shifts are"), batch=one.batch_id,
        word=state_word(batch.state), action=action_words(batch.state), reason=reason_words(batch),
        size=unbroken(size_words_of_batch(batch)),
        zones=tuple(zones), faults=tuple(_faults(batch, units)), doubts=shown,
        limits=CANNOT_TELL, glance=glance_sheet(rows), gauges=gauge_sheet(watched.gauges, units),
        gauge_rows=gauge_rows(watched.gauges, units), study=unbroken(study_words(watched.crossed, units)),
        spread=spread_sheet(watched.spread, units),
        changes=unbroken(change_words(watched.changes, units)),
        wear=tuple(wear_words(w, one.steel, units) for w in watched.wear if w.mandrel_id == one.mandrel_id),
        footer=f"springfit watch, model {watched.model_version}, book {watched.book_digest[:12]}",
    )  # fmt: skip


def _faults(batch: BatchState, units: Units) -> list[FoundFault]:
    """The faults of a batch, those of several bells with one name told once."""
    by_name: dict[tuple[str, ...], list[Named]] = {}
    for named in batch.judged.named:
        by_name.setdefault((named.group[0], str(bool(named.bell_id))), []).append(named)
    found = []
    for several in by_name.values():
        first = max(several, key=lambda named: named.margin)
        found.append(
            FoundFault(
                title=group_words(first.group).capitalize(), where=_where(batch, several, units),
                speaks_for=_for(several, units), against=_against(first), settle=settle_words(first.group).capitalize(),
            )
        )  # fmt: skip
    return found


def _where(batch: BatchState, several: Sequence[Named], units: Units) -> str:
    bells = [named.bell_id for named in several if named.bell_id]
    who = f"all {len(batch.judged.bells)} bells" if not bells else _listed(bells, len(batch.judged.bells))
    steel = batch.judged.steel
    low, high = several[0].at
    if low <= 5.0 and high >= 0.8 * steel.length:
        return f"{who}, all along"
    ends = steel.z_at((low, high))
    return unbroken(f"{who}, z {place(float(ends[0]), units)} to {place(float(ends[1]), units)} {units}")


def _listed(bells: Sequence[str], of: int) -> str:
    shown = ", ".join(bells[:_MOST_BELLS]) + (" …" if len(bells) > _MOST_BELLS else "")
    return f"{len(bells)} of {of} bells: {shown}"


def _for(several: Sequence[Named], units: Units) -> str:
    first = max(several, key=lambda named: named.margin)
    return unbroken(f"{size_words(first, units)}; {_odds(first.margin)} over springback alone")


def _against(named: Named) -> str:
    if not named.against:
        return "no other cause tried comes near it"
    other, behind = named.against[0]
    return f"{fault_title(other)} is {_odds(behind)} less likely" if behind > 0.5 else f"{fault_title(other)} as likely"


def _odds(nats: float) -> str:
    """Evidence in nats as odds."""
    return "more than a million to one" if nats > 13.8 else f"{2.718281828**nats:.0f} to 1"


def glance_sheet(rows: Sequence[MandrelRow]) -> Sheet:
    """The shop at a glance as a table."""
    head = ("mandrel", "revision", "batches", "bells", "newest batch", "state", "last verdict", "done", "next")
    body = []
    for row in rows:
        newest = f"{row.newest_batch} {row.newest_on}".strip() or "none"
        verdict = f"{row.verdict.verdict.replace('_', ' ')} {row.verdict.written[:10]}" if row.verdict else "none yet"
        body.append((
            row.mandrel_id, f"{row.revision}", f"{row.batches} of {row.all_batches}", f"{row.bells} of {row.all_bells}",
            newest, row.state or "not judged", verdict, done_words(row), next_words(row),
        ))  # fmt: skip
    note = "Batches and bells: on this revision, of all. A row opens the mandrel's own history below."
    return Sheet("The shop at a glance", note, head, tuple(body))
