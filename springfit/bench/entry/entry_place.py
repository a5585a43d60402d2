"""Where a reading is taken and what was typed there, as frozen nouns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from springfit.lengths import MM_PER_UNIT, parse_length

__all__ = ["OUTCOMES", "Place", "Taken", "in_unit", "place_of", "taken_of"]

OUTCOMES = ("value", "skipped", "not_reached")
_LONGEST = 60  # letters of a name or a number; no name is so long
_PER_INCH = {"in": Decimal(1), "thou": Decimal("0.001")}  # exact


@dataclass(frozen=True)
class Place:
    """One place of one bell, taken in one way; the words are those of the book's `measurements`.

    fixed: the number that is set before reading, as marked (the station; of `axial_at_diameter` the ring's size), and
    its `unit`. On a mandrel's or a target's own sheet `bell` is its name and `kind` is "steel" or "target".
    """

    bell: str
    stage: str
    kind: str
    datum: str
    fixed: str
    unit: str
    angle: str = ""
    gauge: str = ""

    @property
    def fixed_mm(self) -> float:
        """The set number [mm]."""
        return parse_length(self.fixed, self.unit)

    def as_json(self) -> dict[str, str]:
        """Its parts by name."""
        return asdict(self)


@dataclass(frozen=True)
class Taken:
    """What stands at a place: `typed` in `unit` where `outcome` is "value"; `answer` to a doubt ("stands": read again
    and the same); `event_id` it came with and the one it `replaces`; when (`at`)."""

    event_id: str
    outcome: str
    typed: str = ""
    unit: str = "mm"
    answer: str = ""
    replaces: str = ""
    at: str = ""


def place_of(said: object) -> Place:
    """The place in an event; ValueError where a part is missing or is no short text."""
    if not isinstance(said, Mapping) or set(said) - set(Place.__dataclass_fields__):
        raise ValueError("found no place of a reading, expected its parts by name")
    parts: dict[str, str] = {}
    for name, part in said.items():
        if not isinstance(part, str) or len(part) > _LONGEST or not (part.isprintable() or not part):
            raise ValueError(f"found {str(part)[:40]!r} for {name}, expected a short text")
        parts[name] = part.strip()
    try:
        place = Place(**parts)
    except TypeError:
        raise ValueError("found a place with a part missing, expected bell, stage, kind, datum, fixed, unit") from None
    if place.unit not in MM_PER_UNIT or not place.bell:
        raise ValueError(f"found the unit {place.unit!r}, expected one of {', '.join(MM_PER_UNIT)}")
    place.fixed_mm  # noqa: B018  a set number that is none says so itself
    return place


def taken_of(event: Mapping[str, Any]) -> Taken:
    """What an event says of its place; ValueError for an outcome, unit or text that cannot be."""
    texts = {name: event.get(name, "") for name in ("outcome", "typed", "unit", "answer", "replaces", "at")}
    for name, text in texts.items():
        if not isinstance(text, str) or len(text) > _LONGEST or not (text.isprintable() or not text):
            raise ValueError(f"found {str(text)[:40]!r} for {name}, expected a short text")
    if texts["outcome"] not in OUTCOMES or texts["unit"] not in MM_PER_UNIT:
        raise ValueError(f"expected an outcome of {', '.join(OUTCOMES)} and a unit of {', '.join(MM_PER_UNIT)}")
    if texts["outcome"] == "value" and not texts["typed"].strip():
        raise ValueError("found a value without a number")
    return Taken(str(event["id"]), **{name: text.strip() for name, text in texts.items()})


def in_unit(typed: str, unit: str, wanted: str) -> str:
    """`typed` as it is written in a column of `wanted`: word for word where it is that unit, else without rounding."""
    if unit == wanted:
        return typed
    try:
        if unit in _PER_INCH and wanted in _PER_INCH:
            return f"{(Decimal(typed) * _PER_INCH[unit] / _PER_INCH[wanted]).normalize():f}"
    except InvalidOperation:
        pass
    return f"{parse_length(typed, unit) / MM_PER_UNIT[wanted]:.9g}"
