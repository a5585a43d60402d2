"""Gauges whose stated errors are not those of their kind: a unit or a decimal point gone wrong."""

from __future__ import annotations

import numpy as np

from springfit.findings import Finding
from springfit.lengths import in_words, split_unit
from springfit.records.book import Book
from springfit.records.rules.usual_gauges import usual_gauge
from springfit.records.tables import TABLES

__all__ = ["odd_gauges"]

# Gauges of one kind differ by a factor of three or four (the demo and the sample shops lie within 3.4 of the usual
# figures); inches for millimetres is 25.
_TIMES = 6.0  # between the two; by judgement


def odd_gauges(book: Book) -> list[Finding]:
    """A doubt for each figure of a gauge far from what its kind usually errs by."""
    found = []
    for row, gauge in book.gauges.to_dict("index").items():
        kind = usual_gauge(gauge["what"])
        for column in ("repeatability_mm", "station_mm") if kind else ():
            stated, usual = float(gauge[column]), float(getattr(kind, column))
            low, high = TABLES["gauges"].column(column).usual or (0.0, np.inf)
            if not low <= stated <= high:
                continue  # told as an unusual size already
            if not stated > 0 or abs(np.log(stated / usual)) < np.log(_TIMES):
                continue
            file = str(gauge["source_file"])
            unit = "mm" if split_unit(book.headers.get((file, column), column))[1] == "mm" else "in"
            name, shown = column.removesuffix("_mm"), in_words(stated, unit)
            found.append(
                book.finding(
                    "doubt", "gauges", row, column, subject=str(gauge["gauge_id"]),
                    what=f"{name} of gauge {book.gauges.at[row, 'gauge_id']!r} is {shown}",
                    expected=f"about {in_words(usual, unit)}, as usual for {kind.name}",  # type: ignore[union-attr]
                    remedy="was another unit typed, or a point misplaced?",
                )
            )  # fmt: skip
    return found
