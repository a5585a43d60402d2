"""Events as the page at the bench makes them, for tests that need no browser."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

from springfit.bench.entry.entry_place import Place
from tests.helpers.books import small_book

_count = itertools.count(1)


def event_id() -> str:
    """An id that no other event has."""
    return f"event{next(_count):08d}"


def place(bell: str = "B9-1", fixed: str = "100", kind: str = "outside_diameter", **more: str) -> Place:
    """A place of a bell of the small book, in mm."""
    parts = {"stage": "trimmed", "datum": "tail", "unit": "mm", "angle": "0", "gauge": "MIC", **more}
    return Place(bell=bell, kind=kind, fixed=fixed, **parts)


def start(subject: str = "B9", *, known: bool = False, unit: str = "mm", **cells: str | None) -> dict[str, Any]:
    """The start of a batch's sheet: on OAK, as its last batch was spun."""
    usual = {
        "batch_id": subject, "spun_on": "2025-06-10", "mandrel_id": "OAK", "alloy": "C26000", "passes": "3",
        "wall": "0.5", "anneal": "full", "blank_rim": "112", "finished_rim": "100", "temper": None,
    }  # fmt: skip
    return {"id": event_id(), "what": "start", "kind": "batch", "subject": subject, "unit": unit, "known": known,
            "cells": {**usual, **cells}, "at": "2025-06-10T08:00:00Z"}  # fmt: skip


def bell(name: str = "B9-1") -> dict[str, Any]:
    """A bell that is begun."""
    return {"id": event_id(), "what": "bell", "bell": name, "cells": {"order_in_batch": "1"}}


def reading(there: Place, typed: str, **more: str) -> dict[str, Any]:
    """A value at a place."""
    usual = {"outcome": "value", "unit": there.unit, "answer": "", "replaces": "", "at": ""}
    return {"id": event_id(), "what": "reading", "place": there.as_json(), "typed": typed, **usual, **more}


def sound(z: float, gap: float = 0.03) -> str:
    """The outside of a sound bell of OAK at a station [mm], as typed."""
    return f"{small_book.outside(small_book.OAK, z, gap):.3f}"


def small(folder: Path) -> Path:
    """The small book, written."""
    return small_book.write(folder, small_book.sheets())
