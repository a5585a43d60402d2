"""What a blank in the conditions may have stood for: no more steel is cut than the least of it asks.

A forecast under a blank is of usual practice, with a wider band. Its mean may still ask for more than the value that
was not written down, so the decision is reached once for every value the shop's book knows for that column, and the
least cut of all is a ceiling. Blanking a column can then never cut more.
"""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np

from springfit.records.book import Book
from springfit.records.conditions import Conditions

__all__ = ["blank_columns", "completions", "extremes"]

# Of a column: a sheet's wall may be written down differently every time; six, evenly among them, are tried
MOST_VALUES = 6
MOST_ASKED = 3  # columns that a waiting decision tries: every one is two forecasts more
WHOLE = ("passes", "back_passes")
OF_THE_MANDREL = ("draw_end_mm", "blank_rim_mm", "finished_rim_mm")  # other mandrels' say nothing of this one


def blank_columns(conditions: Conditions) -> tuple[str, ...]:
    """The columns of `conditions` that are not known."""
    names = (field.name for field in fields(conditions) if field.name not in ("name", "alloy"))
    return tuple(name for name in names if getattr(conditions, name) is None)


def extremes(book: Book, mandrel_id: str, conditions: Conditions) -> list[tuple[str, Conditions, Conditions]]:
    """For the first few blanks for which the book has more than one value: the column, and the conditions with its
    lowest and its highest."""
    told = []
    for name in blank_columns(conditions):
        filled = [one for one in completions(book, mandrel_id, conditions) if getattr(one, name) is not None]
        if len(filled) > 1:
            told.append((name, filled[0], filled[-1]))
    return told[:MOST_ASKED]


def completions(book: Book, mandrel_id: str, conditions: Conditions) -> tuple[Conditions, ...]:
    """`conditions` with one blank filled in, for every blank and every value that the book has for it.

    At most six values a column, lowest and highest among them; nothing where the book knows no value. Two blanks are
    not filled in together: what they do to the need hardly depends on one another.
    """
    here = book.batches[book.batches["mandrel_id"] == mandrel_id]
    filled = []
    for name in blank_columns(conditions):
        written = (here if name in OF_THE_MANDREL else book.batches)[name].dropna()
        values = sorted(set(written))
        chosen = np.unique(np.linspace(0, max(len(values) - 1, 0), MOST_VALUES).round().astype(int))
        for place in chosen[: len(values)]:
            value: Any = int(values[place]) if name in WHOLE else values[place]
            filled.append(replace(conditions, **{name: value}))
    return tuple(filled)
