"""What a blank of the book means, in the one place that every reader of a book asks.

A blank is *unknown*: NaN in a column of numbers, NaT in one of days, None in one of texts. It is never none, nought or
the mean, and widens what is said. The exceptions are few: columns declared with a value that a blank stands for
(`Column.blank_stands_for`), a bell's wall (that of its batch's sheet, else the one read), a batch's revision (the one
in force on its day, filled in by `rules.revisions`), a gauge's errors (its kind's, `rules.usual_gauges`).

Of a sheet that has to be laid or let go something must be assumed, and each room assumes what it alone asks: hump,
passes and nose in `mechanics.laying.shop_words`, the anneal in `mechanics.metal.hardening`, where drawing stopped and
where it was trimmed in `learning.basis.spun_sheet`, the chance of passes toward the tail in `learning.model`. A
forecast is widened by what each blank may have been (`learning.features.batch_features`).
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.records.columns import Column

__all__ = [
    "USUAL_WALL_MM", "blank_column", "blanks_filled", "is_blank", "known_walls", "rim_at_stage", "stated_wall",
]  # fmt: skip

# Stands in where a formula needs some wall and none is known. Bells are spun from sheet of 0.3 to 0.8 mm (the record
# book's list of sizes to expect), so it is wrong by 0.3 mm at most: less than what makes a check look twice.
USUAL_WALL_MM = 0.5


def blank_column(column: Column, count: int) -> np.ndarray:
    """A column of `count` rows that the sheet does not have: unknown in every row."""
    if column.numeric:
        return np.full(count, np.nan)
    if column.kind == "date":
        return np.full(count, np.datetime64("NaT", "ns"), dtype="datetime64[ns]")
    return np.full(count, None, dtype=object)


def is_blank(value: object) -> bool:
    """Whether the value of one cell of a frame is blank."""
    return value is None or value is pd.NaT or (isinstance(value, float) and bool(np.isnan(value)))


def blanks_filled(values: pd.Series, column: Column) -> pd.Series:
    """The column's values, blanks as the value they stand for; as they are where a blank is unknown."""
    return values if column.blank_stands_for is None else values.fillna(column.blank_stands_for)


def stated_wall(of_bell: pd.Series, of_batch: pd.Series) -> pd.Series:
    """Wall [mm] of each bell as far as it is written down: its own, else that of its batch's sheet, else NaN."""
    return of_bell.fillna(of_batch)


def known_walls(rows: pd.DataFrame) -> pd.Series:
    """Wall [mm] of the bell of each reading: as stated, else the median of the walls read on it, else on its batch's
    bells, else NaN. Needs the columns of the measurements, `batch_id`, `wall_mm` and `wall_mm_of_batch`."""
    stated = stated_wall(rows["wall_mm"], rows["wall_mm_of_batch"])
    if not stated.isna().any():
        return stated
    read = rows["value_mm"].where(rows["kind"] == "wall")
    for of_one in ("bell_id", "batch_id"):
        stated = stated.fillna(read.groupby(rows[of_one]).transform("median"))
    return stated


def rim_at_stage(stage: Any, blank_rim: Any, finished_rim: Any) -> NDArray[np.float64]:
    """Diameter [mm] of the rim that a bell has at each `stage`: the blank's as spun, the finished one after; NaN where
    that one is blank."""
    return np.where(np.asarray(stage) == "spun", blank_rim, finished_rim)
