"""Clearances of tied sheets with the sheet, gauge, batch and steel each belongs to."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from springfit.records.blank_cells import USUAL_WALL_MM, rim_at_stage
from springfit.records.book import Book
from springfit.records.checks.rough_gaps import MandrelProfile
from springfit.records.reading_kinds import FROM_THE_TAIL
from springfit.records.rules.revisions import bells_on_steel

__all__ = ["clearance_sheets"]


def clearance_sheets(book: Book, of: Mapping[tuple[str, int], MandrelProfile]) -> pd.DataFrame:
    """One row a clearance, labels those of `measurements`, in the order of the book.

    Columns: `sheet` (number: bell, stage, datum, gauge), `bell_id`, `stage`, `gauge_id`, `batch_id`, `mandrel_id`,
    `revision`, `z_mm` (mandrel station), `value_mm`, `rim_mm` (diameter of the rim then, NaN unknown), `wall_mm`.
    """
    readings = book.measurements
    columns = ["bell_id", "stage", "datum", "gauge_id", "z_mm", "value_mm"]
    tied = (readings["kind"] == "clearance") & readings["datum"].isin(FROM_THE_TAIL)
    rows = readings.loc[tied, columns].copy()
    bells = bells_on_steel(book.batches, book.bells)
    bell = bells.iloc[bells.index.get_indexer(pd.Index(rows["bell_id"].to_numpy(dtype=object)))]
    for name in ("batch_id", "mandrel_id", "revision"):
        rows[name] = bell[name].to_numpy()
    rows["wall_mm"] = bell["wall_mm"].fillna(USUAL_WALL_MM).to_numpy(float)
    rows["rim_mm"] = rim_at_stage(rows["stage"], bell["blank_rim_mm"], bell["finished_rim_mm"])
    rows["gauge_id"] = rows["gauge_id"].fillna("").astype(str)
    rows["sheet"] = rows.groupby(["bell_id", "stage", "datum", "gauge_id"], sort=False).ngroup()
    return rows[np.isfinite(rows["value_mm"].to_numpy(float))]
