"""The gauge study of a book: places of bells that several gauges read several times each.

Parts are places of bells, the people of the usual study are gauges here: who read is not in a record book.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from springfit.records.book import Book
from springfit.watching.gauges.gauge_study import GaugeStudy, gauge_study

__all__ = ["CrossedGauges", "crossed_gauges"]

PLACE = ["bell_id", "stage", "kind", "datum", "z_mm", "angle_deg"]
LEAST = 2  # places, gauges and readings by each; one tells no spread


@dataclass(frozen=True)
class CrossedGauges:
    """The `study` [mm^2] of `places` that each of the `gauges` read `readings` times."""

    gauges: tuple[str, ...]
    places: int
    readings: int
    study: GaugeStudy


def crossed_gauges(book: Book) -> CrossedGauges | None:
    """The study that the repeated readings of `book` make; None where no two gauges read two places twice each."""
    rows = book.measurements.assign(angle_deg=book.measurements["angle_deg"].fillna(-1.0))
    rows = rows[rows.groupby([*PLACE, "gauge_id"], dropna=False)["value_mm"].transform("size") >= LEAST]
    if rows.empty:
        return None
    again = rows.groupby([*PLACE, "gauge_id"], dropna=False)["value_mm"].agg(list).unstack("gauge_id")
    while len(again.columns) >= LEAST:
        complete = again.dropna()
        if len(complete) >= LEAST:
            readings = int(min(len(cell) for cell in complete.to_numpy().ravel()))
            cube = np.array([[cell[:readings] for cell in row] for row in complete.to_numpy()], dtype=float)
            return CrossedGauges(tuple(map(str, complete.columns)), len(complete), readings, gauge_study(cube))
        again = again.drop(columns=again.notna().sum().idxmin())  # the gauge with the fewest places
    return None
