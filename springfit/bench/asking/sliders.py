"""What can be changed on the page that asks: the values of each slider, and a mandrel and conditions so changed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from springfit.bench.asking.joined_changes import Changes
from springfit.geometry.meridian import Meridian
from springfit.learning.data.mandrel_steel import draft_meridian
from springfit.lengths import parse_length
from springfit.records.book import Book
from springfit.records.conditions import Conditions

__all__ = ["Slider", "changed", "flare_moved", "sliders_of"]

_MOST_VALUES = 7  # of a column, the nearest to the present one: each is a forecast; a bound on time
_MOVES = {
    "in": ("-0.08", "-0.04", "-0.02", "0", "0.02", "0.04", "0.08"),
    "mm": ("-2", "-1", "-0.5", "0", "0.5", "1", "2"),
}
_DRAW_STEPS = {"in": ("-1", "-1/2", "1/2", "1"), "mm": ("-20", "-10", "10", "20")}
# Shares of the length between which a moved line goes over from where it was; a smooth way over the middle; assumed
_FLARE = (0.5, 0.7)
# Of the length, to which drawing may be moved: something is left to spin, as `laid_state.DRAWN_AT_MOST` has of the arc
_DRAWN_AT_MOST = 0.95


@dataclass(frozen=True)
class Slider:
    """One thing that can be changed: its `name`, `label` and `unit`, the `values` in order as typed, the `present`."""

    name: str
    label: str
    unit: str
    values: tuple[str, ...]
    present: str


def sliders_of(book: Book, now: Conditions, mandrel: Meridian, number: Callable[[float], str]) -> list[Slider]:
    """The sliders for a bell spun as `now`; `number` writes a length [mm] as the shop does.

    What is not written down of the present bell cannot be changed from it, and has no slider.
    """
    found = [Slider("flare", "Flare moved toward the rim by", book.units, _MOVES[book.units], "0")]
    if now.anneal is not None:
        found.append(Slider("anneal", "Anneal", "", ("none", "partial", "full"), now.anneal))
    if now.passes is not None:
        passes = sorted({now.passes, *range(max(1, now.passes - 2), now.passes + 3)})
        found.append(Slider("passes", "Forward passes", "", tuple(map(str, passes)), str(now.passes)))
    for name, label in (("tool_nose", "Radius of the tool's nose"), ("wall", "Sheet")):
        value = getattr(now, f"{name}_mm")
        if value is not None:
            said = [number(one) for one in _near(book.batches[f"{name}_mm"].dropna().tolist(), value)]
            found.append(Slider(name, label, book.units, tuple(dict.fromkeys(said)), number(value)))
    if now.draw_end_mm:
        steps = [now.draw_end_mm + parse_length(one, book.units) for one in _DRAW_STEPS[book.units]]
        places = sorted([now.draw_end_mm, *(one for one in steps if 0 < one < _DRAWN_AT_MOST * mandrel.z[-1])])
        said = [number(one) for one in places]
        found.append(Slider("draw_end", "Drawing stops at", book.units, tuple(said), number(now.draw_end_mm)))
    return [one for one in found if len(one.values) > 1]


def changed(mandrel: Meridian, now: Conditions, changes: Changes, units: str) -> tuple[Meridian, Conditions]:
    """Mandrel and conditions with the changes made."""
    for name, value in sorted(changes):
        if name == "flare":
            mandrel = flare_moved(mandrel, parse_length(value, units))
        elif name == "anneal":
            now = replace(now, anneal=value)
        elif name == "passes":
            now = replace(now, passes=int(value))
        else:
            now = replace(now, **{f"{name}_mm": parse_length(value, units)})  # type: ignore[arg-type]
    return mandrel, now


def flare_moved(mandrel: Meridian, by_mm: float) -> Meridian:
    """The line with its flare moved along the axis, + toward the rim, the tail left where it is."""
    share = np.clip((mandrel.z / mandrel.z[-1] - _FLARE[0]) / (_FLARE[1] - _FLARE[0]), 0.0, 1.0)
    smooth = share**2 * (3.0 - 2.0 * share)
    return draft_meridian(mandrel.z + by_mm * smooth, 2.0 * mandrel.r)


def _near(values: Sequence[float], present: float) -> list[float]:
    """Values that the shop has used, the nearest few to the present one, in order."""
    different = sorted(set(values) | {present}, key=lambda one: abs(one - present))[:_MOST_VALUES]
    return sorted(different)
