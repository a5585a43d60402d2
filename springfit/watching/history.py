"""A mandrel's own history: revisions, batches, cuts ordered and found, on one line of time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from springfit.learning.data.mandrel_steel import steel_meridian
from springfit.records.book import Book
from springfit.watching.shop_glance import LastVerdict

if TYPE_CHECKING:
    from springfit.watching.batch_states import BatchState
    from springfit.watching.wear import Wear

__all__ = ["MandrelHistory", "Recut", "mandrel_histories", "revisions_of"]

NO_CUT_MM = 0.002  # a revision that moved less was a re-measurement; less than steel is measured to


@dataclass(frozen=True)
class Recut:
    """A revision: since `day`, its number, the largest removal found between it and the one before [mm per side, nan
    for the first], what was `ordered` (nan where no report ordered one), finish and note."""

    revision: int
    day: str
    found: float
    ordered: float
    finish: str
    note: str


@dataclass(frozen=True)
class MandrelHistory:
    """One mandrel: revisions and batches oldest first, verdicts that reports gave, wear found on the revision in
    force."""

    mandrel_id: str
    revisions: tuple[Recut, ...]
    batches: tuple[BatchState, ...]
    verdicts: tuple[LastVerdict, ...]
    wear: tuple[Wear, ...]


def mandrel_histories(
    book: Book, batches: Sequence[BatchState], wear: Sequence[Wear], verdicts: Sequence[LastVerdict] = ()
) -> tuple[MandrelHistory, ...]:
    """The history of every mandrel of `book`, in the order of its table."""
    found = []
    for name in dict.fromkeys(book.mandrels["mandrel_id"].astype(str)):
        told = tuple(sorted((v for v in verdicts if v.mandrel_id == name), key=lambda v: v.written))
        mine = tuple(one for one in batches if one.judged.mandrel_id == name)
        worn = tuple(one for one in wear if one.mandrel_id == name)
        found.append(MandrelHistory(name, revisions_of(book, name, told), mine, told, worn))
    return tuple(found)


def revisions_of(book: Book, name: str, told: Sequence[LastVerdict]) -> tuple[Recut, ...]:
    """The revisions of a mandrel, oldest first; `told` the verdicts of its reports, oldest first."""
    rows = book.mandrels[book.mandrels["mandrel_id"] == name].sort_values("revision")
    ordered = {verdict.revision: verdict.largest_cut_mm for verdict in told if verdict.largest_cut_mm > 0.0}
    found, before = [], None
    columns = (rows[name] for name in ("revision", "in_force_from", "finish", "note"))
    for revision, since, finish, note in zip(*columns, strict=True):
        number = int(revision)
        removal = float("nan") if before is None else _removal(book, name, before, number)
        found.append(
            Recut(
                number, str(since)[:10], removal,
                ordered.get(-1 if before is None else before, float("nan")), _word(finish), _word(note),
            )
        )  # fmt: skip
        before = number
    return tuple(found)


def _word(cell: object) -> str:
    """A cell that may be blank as text."""
    return cell if isinstance(cell, str) else ""


def _removal(book: Book, name: str, before: int, after: int) -> float:
    """Largest removal between two revisions [mm per side, + taken off], along the normal of the earlier."""
    try:
        old, new = steel_meridian(book, name, before), steel_meridian(book, name, after)
    except KeyError:
        return float("nan")
    common = np.linspace(0.0, min(old.length, new.length), 120)
    one, other = old.at(common), new.at(common)
    apart = (other.z - one.z) * np.sin(one.slope) - (other.r - one.r) * np.cos(one.slope)
    largest = float(apart[np.argmax(np.abs(apart))])
    return 0.0 if abs(largest) < NO_CUT_MM else largest
