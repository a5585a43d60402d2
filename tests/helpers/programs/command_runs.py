"""Commands run in this process on a small sound book: what was learned of it, what a command said."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

# Spun as the book's own first batch: what is asked so is laid already.
CONDITIONS = "name,alloy,temper,wall_mm,anneal,passes,tool_nose_mm,blank_rim_mm,finished_rim_mm,draw_end_mm\n"


@dataclass(frozen=True)
class Trained:
    """A sound book, and a store that has learned it."""

    book: Path
    store: Path


@dataclass(frozen=True)
class Ran:
    """What a command returned and said."""

    code: int
    said: str
    reasons: list[str]


Run = Callable[..., Ran]


def draft(folder: Path, trained: Trained) -> Path:
    """A draft mandrel: the first one of the sound book, as drawn."""
    draft = folder / "draft.csv"
    rows = (trained.book / "mandrel_profile.csv").read_text().splitlines()
    first = [line.split(",")[2:] for line in rows if line.startswith(("mandrel_id", "OAK,0"))]
    draft.write_text("\n".join(",".join(row) for row in first) + "\n")
    return draft
