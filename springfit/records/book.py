"""The shop's records as one frozen object: every table in mm, revisions joined by day, a digest of it all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import pandas as pd

from springfit.findings import Finding, Grade
from springfit.records.conditions import Conditions, conditions_of

__all__ = ["Book", "Headers", "located", "revision_on"]

Headers = Mapping[tuple[str, str], str]  # (file, frame column) -> header as typed


@dataclass(frozen=True)
class Book:
    """One record book, read and checked. Lengths [mm]; ids and texts are str or None; blank numbers are NaN.

    Every frame has all declared columns of its table, extra ones as text, and `source_file`, `source_row`.
    `units` is what most length columns of the book use; `headers` gives a column's name as its file has it.
    """

    folder: str
    units: Literal["mm", "in"]
    digest: str
    mandrels: pd.DataFrame
    mandrel_profile: pd.DataFrame
    targets: pd.DataFrame
    target_profile: pd.DataFrame
    batches: pd.DataFrame
    bells: pd.DataFrame
    measurements: pd.DataFrame
    gauges: pd.DataFrame
    specimens: pd.DataFrame
    specimen_points: pd.DataFrame
    headers: Headers

    def profile(self, mandrel_id: str, revision: int) -> tuple[np.ndarray, np.ndarray]:
        """Stations z and diameters [mm] of one revision of the steel, tail to rim; KeyError if unknown."""
        rows = self.mandrel_profile
        rows = rows[(rows["mandrel_id"] == mandrel_id) & (rows["revision"] == revision)]
        return _stations(rows, f"mandrel {mandrel_id!r} revision {revision}")

    def target_profile_of(self, target_id: str) -> tuple[np.ndarray, np.ndarray]:
        """Stations z [mm] and inside diameters [mm] of the finished bell wanted; KeyError when unknown."""
        rows = self.target_profile
        return _stations(rows[rows["target_id"] == target_id], f"target {target_id!r}")

    def conditions(self, batch_id: str) -> Conditions:
        """How one batch was spun; KeyError when unknown."""
        rows = self.batches[self.batches["batch_id"] == batch_id]
        if not len(rows):
            raise KeyError(f"no batch {batch_id!r} in the book")
        return conditions_of(rows.iloc[0], name=batch_id)

    def newest_batch(self, mandrel_id: str) -> str:
        """The batch spun last on the mandrel (the later row of two on a day); KeyError when there is none."""
        rows = self.batches[self.batches["mandrel_id"] == mandrel_id]
        if not len(rows):
            raise KeyError(f"no batch on mandrel {mandrel_id!r} in the book")
        return str(rows.sort_values("spun_on", kind="stable")["batch_id"].iloc[-1])

    def finding(
        self,
        grade: Grade,
        table: str,
        row: Any,
        column: str | None,
        *,
        what: str,
        expected: str,
        remedy: str = "",
        subject: str = "",
        sets_aside: bool = False,
        sets_row_aside: bool = False,
        stops: bool = False,
    ) -> Finding:
        """A finding at the row labelled `row` of one of the book's tables."""
        place = located(self.headers, getattr(self, table), row, column)
        return Finding(grade, *place, what, expected, remedy, subject, sets_aside, sets_row_aside, stops)


def located(
    headers: Headers, frame: pd.DataFrame, row: Any, column: str | None
) -> tuple[str, int, str | None]:
    """File, line and header as typed of a cell of a frame, its row given by label."""
    cells: Any = frame.at
    file, line = cells[row, "source_file"], cells[row, "source_row"]
    return file, int(line), None if column is None else headers.get((file, column), column)


def revision_on(mandrels: pd.DataFrame, mandrel_id: str, day: pd.Timestamp) -> int | None:
    """The highest revision of the mandrel that came into force by `day`; None before the first."""
    rows = mandrels[(mandrels["mandrel_id"] == mandrel_id) & (mandrels["in_force_from"] <= day)]
    highest = rows["revision"].max()
    return None if np.isnan(highest) else int(highest)


def _stations(rows: pd.DataFrame, named: str) -> tuple[np.ndarray, np.ndarray]:
    """z and diameter of the rows, read-only."""
    if not len(rows):
        raise KeyError(f"no profile of {named} in the book")
    arrays = np.array(rows["z_mm"], dtype=float), np.array(rows["diameter_mm"], dtype=float)
    for array in arrays:
        array.setflags(write=False)
    return arrays
