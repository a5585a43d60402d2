"""The fields of a new batch, mandrel, wanted bell or gauge, filled in from what the shop wrote down before."""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import pandas as pd

from springfit.bench.shop_numbers import shop_number
from springfit.bench.web.field_words import COLUMN_WORDS
from springfit.records.blank_cells import is_blank
from springfit.records.book import Book
from springfit.records.columns import Column
from springfit.records.tables import TABLES

__all__ = ["FormField", "as_said", "batch_fields", "gauge_fields", "mandrel_fields", "next_name", "target_fields"]

_MOST_OFFERED = 6  # of what was written before, the latest: what a thumb can choose from
_ALLOYS = ("C26000", "C23000", "C22000", "C24000")  # 70/30, 85/15, 90/10 and 80/20 brass: what bells are spun of
_TEMPERS = ("OS025", "OS035", "OS050", "H01")
_PASSES = ("1", "2", "3", "4")
_GAUGES = ("outside micrometer", "dial caliper", "feeler leaves", "ball micrometer", "ring gauge", "depth rule")
_FIRST_OFFERS = {
    "alloy": _ALLOYS, "temper": _TEMPERS, "passes": _PASSES, "back_passes": ("0", "1", "2"), "what": _GAUGES,
    "draw_ring": ("nylon", "acetal"), "lubricant": ("soap", "tallow", "beeswax"),
    "spindle_rpm": ("800", "1000", "1200"), "steel": ("tool steel",),
}  # fmt: skip
_LENGTH_OFFERS = {
    "wall": ("0.4", "0.5", "0.6"), "tool_nose": ("6", "10", "12"), "tolerance": ("0.05", "0.1"), "slide": ("0", "0.5"),
    "repeatability": ("0.005", "0.01", "0.02"), "station": ("0.1", "0.25"), "ball_radius": ("0", "1"),
}  # fmt: skip
_INCH_OFFERS = {
    "wall": ("0.016", "0.018", "0.020", "0.022"), "tool_nose": ("1/4", "3/8", "1/2"), "tolerance": ("0.002", "0.004"),
    "slide": ("0", "0.02"), "repeatability": ("0.0003", "0.0005", "0.001"), "station": ("0.004", "0.01"),
    "ball_radius": ("0", "0.04"),
}  # fmt: skip


@dataclass(frozen=True)
class FormField:
    """One field: its column's `name`, `label`, `unit` ("" without), `meaning`, what is `offered` and `chosen` (None:
    not said yet); `needed` ones may not be left out; `pad` says which keys another value is typed with, empty where
    there is no other than those on offer."""

    name: str
    label: str
    unit: str
    meaning: str
    offered: tuple[str, ...]
    chosen: str | None
    needed: bool
    pad: str


def batch_fields(book: Book, mandrel_id: str, today: datetime.date, taken: Collection[str]) -> list[FormField]:
    """A new batch of the mandrel, as its last one: what that one left blank is not said yet."""
    rows = book.batches[book.batches["mandrel_id"] == mandrel_id].sort_values("spun_on", kind="stable")
    last = rows.iloc[-1] if len(rows) else None
    names = next_name(list(map(str, book.batches.sort_values("spun_on", kind="stable")["batch_id"])), taken, "B001")
    fields = []
    for column in TABLES["batches"].columns:
        if column.name in ("mandrel_id", "revision", "note"):
            continue
        said = None if last is None else _typed(last[column.frame_name], column, book.units)
        fields.append(_field(column, book.batches, book.units, said))
    fixed = {"batch_id": names, "spun_on": today.isoformat()}
    return [_fixed(field, fixed.get(field.name)) for field in fields]


def mandrel_fields(book: Book, today: datetime.date) -> list[FormField]:
    """A new mandrel, its first revision."""
    name = _counted_on(book.mandrels["mandrel_id"], "M1")
    columns = [TABLES["mandrels"].by_name[one] for one in ("mandrel_id", "in_force_from", "finish", "steel")]
    return [
        _own_name(field, name) if field.name == "mandrel_id"
        else _fixed(field, today.isoformat() if field.name == "in_force_from" else None)
        for field in (_field(one, book.mandrels, book.units, None) for one in columns)
    ]  # fmt: skip


def target_fields(book: Book, mandrel_id: str) -> list[FormField]:
    """A bell wanted of a mandrel."""
    every = list(map(str, book.targets["target_id"]))
    own = [name for name in every if name.startswith(mandrel_id)]
    name = next_name(own, every, f"{mandrel_id}-bell", first=f"{mandrel_id}-bell")
    columns = [TABLES["targets"].by_name[one] for one in ("target_id", "tolerance", "slide")]
    fixed = {"target_id": name}
    return [_fixed(_field(one, book.targets, book.units, None), fixed.get(one.name)) for one in columns]


def gauge_fields(book: Book) -> list[FormField]:
    """A new gauge."""
    name = _counted_on(book.gauges["gauge_id"], "G1")
    fields = [_field(one, book.gauges, book.units, None) for one in TABLES["gauges"].columns]
    return [_own_name(field, name) if field.name == "gauge_id" else field for field in fields]


def as_said(field: FormField, value: str) -> str:
    """A value as a person says it: the words of a choice without the strokes that a table has between them, lengths
    under ten thou of an inch shop in thousandths."""
    if not field.pad:
        return value.replace("_", " ")
    under_ten_thou = field.unit == "in" and value.startswith("0.00")
    return f"{1000.0 * float(value):g} thou" if under_ten_thou else value


def next_name(names: Sequence[str], taken: Collection[str], usual: str, *, first: str = "") -> str:
    """The name after the last of `names`, counted on as they are; `usual` for the first."""
    if first and first not in names:
        return first
    name = names[-1] if names else ""
    found = re.fullmatch(r"(.*?)(\d+)(\D{0,3})", name)
    stem, figures, tail = found.groups() if found else (f"{name}-" if name else "", "1", "")
    if not names:
        found = re.fullmatch(r"(.*?)(\d+)()", usual)
        stem, figures, tail = found.groups() if found else (usual, "1", "")
    number = int(figures) + (1 if names else 0)
    while f"{stem}{number:0{len(figures)}d}{tail}" in {*names, *taken}:
        number += 1
    return f"{stem}{number:0{len(figures)}d}{tail}"


def _counted_on(ids: pd.Series, usual: str) -> str | None:
    """The name after the last of the column; None where that one is a word: the next is not for us to make up."""
    names = list(map(str, ids))
    return next_name(names, (), usual) if not names or names[-1][-1:].isdigit() else None


def _field(column: Column, frame: pd.DataFrame, units: str, said: str | None) -> FormField:
    """A field with what was written most often and last on offer."""
    before = [_typed(value, column, units) for value in frame[column.frame_name].iloc[::-1]]
    often = list(dict.fromkeys(text for text in before if text))[:_MOST_OFFERED]
    usual = _FIRST_OFFERS.get(column.name) or (_INCH_OFFERS if units == "in" else _LENGTH_OFFERS).get(column.name, ())
    offered = list(column.choices) or list(dict.fromkeys([*([said] if said else []), *often]))
    if len(offered) < 2 and not column.choices:
        offered += [one for one in usual if one not in offered]
    unit = units if column.kind == "length" else ""
    pad = "number" if column.numeric else ("date" if column.kind == "date" else "text")
    pad = "" if column.choices else pad
    label = COLUMN_WORDS.get(column.name, column.name)
    return FormField(column.name, label, unit, column.meaning, tuple(offered), said, column.filled, pad)


def _fixed(field: FormField, value: str | None) -> FormField:
    """A field that has one value on offer, such as a name or a day."""
    return field if value is None else replace(field, chosen=value, offered=(value,))


def _own_name(field: FormField, name: str | None) -> FormField:
    """The name of what is new: none that the book has is on offer."""
    return replace(field, chosen=name, offered=() if name is None else (name,))


def _typed(value: object, column: Column, units: str) -> str | None:
    """A cell as it would be typed; None for a blank."""
    if is_blank(value):
        return None
    if column.kind == "date":
        return str(pd.Timestamp(value).date())  # type: ignore[arg-type]
    if column.kind == "length":
        return shop_number(float(value), units)  # type: ignore[arg-type]
    return f"{float(value):g}" if column.numeric else str(value)  # type: ignore[arg-type]
