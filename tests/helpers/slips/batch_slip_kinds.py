"""Kinds of slips in batches and gauges, each planted into a `Book` that was read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd

from springfit.records.book import Book
from tests.helpers.slips.reading_slip_kinds import Plant


def batch_cell(column: str, change: Callable[[float], float]) -> Plant:
    """One number of a batch changed."""

    def plant(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
        rows = book.batches.index[book.batches[column].notna() & (book.batches[column] != 0)]
        row, frame = rows[int(rng.integers(len(rows)))], book.batches.copy()
        frame.loc[row, column] = change(float(frame.loc[row, column]))
        return replace(book, batches=frame), {str(frame.loc[row, "batch_id"])}

    return plant


def batch_word(column: str, change: Callable[[str], str]) -> Plant:
    """One word of a batch changed, of those written more than once."""

    def plant(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
        counts = book.batches[column].value_counts()
        rows = book.batches.index[book.batches[column].isin(counts.index[counts > 2])]
        row, frame = rows[int(rng.integers(len(rows)))], book.batches.copy()
        frame.loc[row, column] = change(str(frame.loc[row, column]))
        return replace(book, batches=frame), {str(frame.loc[row, "batch_id"])}

    return plant


def _day(days: int) -> Plant:
    def plant(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
        row, frame = int(rng.integers(2, len(book.batches) - 2)), book.batches.copy()
        frame.loc[frame.index[row], "spun_on"] += pd.Timedelta(days=days)
        return replace(book, batches=frame), {str(frame.iloc[row]["batch_id"])}

    return plant


def gauge_cell(column: str, by: float) -> Plant:
    """One figure of a gauge times `by`."""

    def plant(book: Book, rng: np.random.Generator) -> tuple[Book, set[str]]:
        rows = book.gauges.index[book.gauges[column].fillna(0) > 0]
        if not len(rows):
            raise LookupError("no such figure")
        row, frame = rows[int(rng.integers(len(rows)))], book.gauges.copy()
        frame.loc[row, column] *= by
        return replace(book, gauges=frame), {str(frame.loc[row, "gauge_id"])}

    return plant


def _misspelt(word: str) -> str:
    return word[:2] + word[3:] if len(word) > 4 else f"{word} "


BATCH_KINDS: dict[str, Plant] = {
    "draw end in inches": batch_cell("draw_end_mm", lambda z: z / 25.4),
    "33 passes": batch_cell("passes", lambda n: 33),
    "speed a hundredfold": batch_cell("spindle_rpm", lambda n: n * 100),
    "speed a tenth": batch_cell("spindle_rpm", lambda n: n / 10),
    "finished rim 10 mm off": batch_cell("finished_rim_mm", lambda d: d - 10),
    "finished rim a radius": batch_cell("finished_rim_mm", lambda d: d / 2),
    "blank rim a radius": batch_cell("blank_rim_mm", lambda d: d / 2),
    "wall a fifth thicker": batch_cell("wall_mm", lambda t: t * 1.2),
    "wall a fifth thinner": batch_cell("wall_mm", lambda t: t / 1.2),
    "wall in inches": batch_cell("wall_mm", lambda t: t / 25.4),
    "nose in inches": batch_cell("tool_nose_mm", lambda r: r / 25.4),
    "a day in the future": _day(3650),
    "a year too early": _day(-365),
    "lot n/a": batch_word("lot", lambda word: "n/a"),
    "spinner ?": batch_word("spinner", lambda word: "?"),
    "lubricant -": batch_word("lubricant", lambda word: "-"),
    "lubricant misspelt": batch_word("lubricant", _misspelt),
    "spinner in capitals": batch_word("spinner", str.swapcase),
}
GAUGE_KINDS: dict[str, Plant] = {
    "repeatability 25 times": gauge_cell("repeatability_mm", 25.4),
    "repeatability a 25th": gauge_cell("repeatability_mm", 1 / 25.4),
    "station error in inches": gauge_cell("station_mm", 1 / 25.4),
    "station error 25 times": gauge_cell("station_mm", 25.4),
    "a stylus's diameter for its radius": gauge_cell("ball_radius_mm", 2.0),
}
