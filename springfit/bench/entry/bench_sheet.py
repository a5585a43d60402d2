"""A sheet in the making as a frozen noun: what its events, one after the other, have made of it.

An event is what one tap saved, as JSON: `id` (made by the tablet, so that an event sent twice counts once), `what`, and
what belongs to it. The state is nothing but its events applied in order; the same events give the same sheet anywhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

from springfit.bench.entry.entry_place import Place, Taken, place_of, taken_of

__all__ = ["KINDS_OF_SHEET", "BenchSheet", "EventError", "applied"]

KINDS_OF_SHEET = ("batch", "mandrel", "target", "gauge")
_MOST_BELLS = 500  # of one sheet: a batch is some ten; a bound
_MOST_CELLS = 40  # that one event sets: more than a sheet has columns
_LONGEST_CELL = 400  # letters: a note is the longest thing that is written


class EventError(ValueError):
    """An event that no page of ours sends; its text says what was found and expected."""


@dataclass(frozen=True)
class BenchSheet:
    """One sheet in the making.

    sheet_id: made by the tablet. kind: of `KINDS_OF_SHEET`. subject: the batch, mandrel, target or gauge it is about.
    unit: of the lengths in `cells`, "mm" or "in". known: the subject stood in the book when the sheet was begun.
    cells: the subject's own columns as typed, None where said not to be written down. bells: their columns by id.
    readings: what stands at each place now. ids: events that have been counted. finished: it is in the book.
    """

    sheet_id: str
    kind: str = "batch"
    subject: str = ""
    unit: str = "mm"
    known: bool = False
    cells: Mapping[str, str | None] = field(default_factory=dict)
    bells: Mapping[str, Mapping[str, str | None]] = field(default_factory=dict)
    readings: Mapping[Place, Taken] = field(default_factory=dict)
    ids: frozenset[str] = frozenset()
    begun_at: str = ""
    finished: bool = False

    @property
    def begun(self) -> bool:
        """Whether its first event has been counted."""
        return bool(self.subject)

    @property
    def values(self) -> int:
        """How many places hold a value."""
        return sum(taken.outcome == "value" for taken in self.readings.values())


def applied(sheet: BenchSheet, event: Mapping[str, Any]) -> BenchSheet:
    """The sheet after one more event; unchanged when it was counted before. EventError for what cannot be an event."""
    if not isinstance(event, Mapping):
        raise EventError("found something that is no event, expected an object with an id")
    name, what = event.get("id"), event.get("what")
    if not isinstance(name, str) or not 8 <= len(name) <= 64 or not name.isalnum():
        raise EventError("found an event without an id of its own, expected 8 to 64 letters and figures")
    if name in sheet.ids:
        return sheet
    step = _STEPS.get(what) if isinstance(what, str) else None
    if step is None:
        raise EventError(f"found an event {str(what)[:40]!r}, expected one of: {', '.join(_STEPS)}")
    if what != "start" and not sheet.begun:
        raise EventError("found a value for a sheet that was never begun, expected its start first")
    return replace(step(sheet, event), ids=sheet.ids | {name})


def _start(sheet: BenchSheet, event: Mapping[str, Any]) -> BenchSheet:
    kind, subject, unit = event.get("kind"), event.get("subject"), event.get("unit")
    if sheet.begun:
        raise EventError("found a second start of one sheet, expected a sheet of its own")
    if kind not in KINDS_OF_SHEET or unit not in ("mm", "in"):
        raise EventError(f"expected a kind of {', '.join(KINDS_OF_SHEET)} and the unit mm or in")
    cells = {} if event.get("known") else _cells(event.get("cells", {}))
    begun = replace(
        sheet, kind=str(kind), subject=name_of(subject), unit=str(unit), known=bool(event.get("known")), cells=cells,
        begun_at=str(event.get("at", "")),
    )  # fmt: skip
    return begun


def _cells_event(sheet: BenchSheet, event: Mapping[str, Any]) -> BenchSheet:
    return replace(sheet, cells=MappingProxyType({**sheet.cells, **_cells(event.get("cells"))}))


def _bell(sheet: BenchSheet, event: Mapping[str, Any]) -> BenchSheet:
    bell = name_of(event.get("bell"))
    if bell not in sheet.bells and len(sheet.bells) >= _MOST_BELLS:
        raise EventError(f"found more than {_MOST_BELLS} bells on a sheet, expected one batch")
    cells = {**sheet.bells.get(bell, {}), **_cells(event.get("cells", {}))}
    return replace(sheet, bells=MappingProxyType({**sheet.bells, bell: MappingProxyType(cells)}))


def _reading(sheet: BenchSheet, event: Mapping[str, Any]) -> BenchSheet:
    try:
        place, taken = place_of(event.get("place")), taken_of(event)
    except (TypeError, ValueError) as unfit:
        raise EventError(str(unfit)) from None
    before = sheet.readings.get(place)
    if before is not None and taken.replaces != before.event_id:
        return sheet  # another tablet was here first: kept in the log, and asked about
    return replace(sheet, readings=MappingProxyType({**sheet.readings, place: taken}))


def _finished(sheet: BenchSheet, event: Mapping[str, Any]) -> BenchSheet:
    """Finished, unless something came in since the events that were `counted` went into the book."""
    return replace(sheet, finished=len(sheet.ids) == event.get("counted"))


def _reopened(sheet: BenchSheet, event: Mapping[str, Any]) -> BenchSheet:
    return replace(sheet, finished=False)


_STEPS = {
    "start": _start,
    "cells": _cells_event,
    "bell": _bell,
    "reading": _reading,
    "finished": _finished,
    "reopened": _reopened,
}


def name_of(said: object) -> str:
    """An id as it may stand in a book: 1 to 60 printable letters."""
    text = said.strip() if isinstance(said, str) else ""
    if not 1 <= len(text) <= 60 or not text.isprintable():
        raise EventError(f"found the name {str(said)[:60]!r}, expected 1 to 60 printable letters")
    return text


def _cells(said: object) -> dict[str, str | None]:
    """Columns by name, each a text or None."""
    if not isinstance(said, Mapping) or len(said) > _MOST_CELLS:
        raise EventError("found no columns where columns were expected")
    for name, cell in said.items():
        plain = isinstance(name, str) and name.replace("_", "").isalnum() and len(name) <= 40
        fits = cell is None or (isinstance(cell, str) and len(cell) <= _LONGEST_CELL and cell.isprintable())
        if not plain or not fits:
            raise EventError(f"found {str(cell)[:40]!r} in {str(name)[:40]!r}, expected a short text or nothing")
    return {name: None if cell is None or not cell.strip() else cell.strip() for name, cell in said.items()}
