"""From what was read off a bell to its inside surface, as signed normal distances to the steel it was spun on.

Each reading becomes one row: the arc station on the mandrel revision in force, the gap there and its variance.
What a reading cannot know stays out of the gap and is named instead: the seat of the bell on the mandrel (one
unknown slide a session: a bell, stage, datum and gauge), the true wall under an outside reading, the gauge's bias.
The mandrel is interpolated, for it is dense and smooth; the bell never is.

    y = n . d(s) - slide sin(phi) + (true wall - stated wall) + gauge bias + e

Readings to the tail datum are of a bell pushed back by hand, those to the witness line hang on the motion of
that line, those to the rim face on the motion of the rim; `Session` keeps which, and the model does the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Self

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.geometry.meridian import Meridian
from springfit.learning.data.kinds_to_gaps import on_the_steel
from springfit.records.blank_cells import USUAL_WALL_MM, known_walls
from springfit.records.book import Book

__all__ = ["Bell", "BellReadings", "Session", "bell_readings"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Session:
    """One setting-up of one bell: what its readings share. `anchor_arc` [mm] is the station whose axial motion
    the datum follows (nan: the tail end, or no axial reference at all for `free`). `felt`: by leaves between the bell
    and its steel, as the steel is by then and not as it was measured."""

    stage: str
    datum: str
    gauge_id: str
    anchor_arc: float
    felt: bool = False


@dataclass(frozen=True)
class BellReadings:
    """What one bell tells, tail to rim. Arrays (n,) [mm, rad, mm^2] unless said.

    `through_wall` is 1 where the wall stands between gauge and inside (a thicker wall reads as a larger gap), else 0;
    `springs` is 1 where the reading is of a place, 0 where it is of the wall itself, whose excess over the stated wall
    then stands in `gap`.
    """

    bell_id: str
    batch_id: str
    arc: Floats
    slope: Floats
    gap: Floats
    variance: Floats
    through_wall: Floats
    springs: Floats
    session: NDArray[np.intp]
    sessions: tuple[Session, ...]
    wall: float
    readings: int
    """Count of readings behind the rows (two diameters at one station make one row)."""

    @property
    def felt(self) -> NDArray[np.bool_]:
        """Which rows (n,) leaves between bell and steel gave."""
        return np.array([session.felt for session in self.sessions])[self.session]

    def first_sessions(self, most: int) -> Self:
        """The bell with its first `most` sessions and their rows."""
        if len(self.sessions) <= most:
            return self
        return replace(self.rows_where(self.session < most), sessions=self.sessions[:most])

    def rows_where(self, keep: NDArray[np.bool_]) -> Self:
        """The bell with only the rows where `keep` (n,) is true; sessions stay, some perhaps empty."""
        names = ("arc", "slope", "gap", "variance", "through_wall", "springs", "session")
        return replace(self, **{name: getattr(self, name)[keep] for name in names})


@dataclass(frozen=True)
class Bell(BellReadings):
    """A bell's readings with `design` (n, columns.all), what each unknown adds to each, and the elastic `envelope`
    (n,) [mm] there."""

    design: Floats
    envelope: Floats

    def rows_where(self, keep: NDArray[np.bool_]) -> Self:
        """The bell with only the rows where `keep` (n,) is true; sessions stay, some perhaps empty."""
        return replace(super().rows_where(keep), design=self.design[keep], envelope=self.envelope[keep])


def bell_readings(book: Book, meridian_of: Callable[[str, int], Meridian]) -> tuple[BellReadings, ...]:
    """Every measured bell of `book` as `BellReadings`, in the order of the bells table.

    `meridian_of(mandrel_id, revision)` gives the steel. Readings past the measured ends of the steel are left out
    (the record book's checks have named them). Valid for books that passed `read_book`.
    """
    bells = book.bells.merge(book.batches, on="batch_id", suffixes=("", "_of_batch"))
    gauges = book.gauges.set_index("gauge_id")[["repeatability_mm", "station_mm", "ball_radius_mm"]]
    rows = book.measurements.merge(bells, on="bell_id", suffixes=("", "_of_bell")).join(gauges, on="gauge_id")
    rows["stated_wall"] = known_walls(rows)
    rows["session"] = rows.groupby(["bell_id", "stage", "datum", "gauge_id"], sort=False).ngroup()
    located = []
    for _, group in rows.groupby(["mandrel_id", "revision"], sort=False):
        steel = meridian_of(str(group["mandrel_id"].iloc[0]), int(group["revision"].iloc[0]))
        located.append(on_the_steel(group, steel))
    if not located:
        return ()
    table = pd.concat(located, ignore_index=True)
    merged = _merged(table)
    of_bell = {bell: np.asarray(at) for bell, at in merged.groupby("bell_id", sort=False).indices.items()}
    columns = {name: merged[name].to_numpy() for name in _OF_A_ROW}
    batch_of = dict(zip(table["bell_id"], table["batch_id"], strict=True))
    # Where no wall is known nothing read on the outside is left; the bell is let go as one of usual sheet.
    wall_of = dict(zip(table["bell_id"], table["stated_wall"].fillna(USUAL_WALL_MM), strict=True))
    read = []
    for bell in bells["bell_id"]:
        at = of_bell.get(bell)
        if at is not None and (columns["springs"][at] > 0).any():
            one = {name: values[at] for name, values in columns.items()}
            read.append(_one_bell(bell, one, str(batch_of[bell]), float(wall_of[bell])))
    return tuple(read)


_NUMBERS = ("arc", "slope", "gap", "variance", "through_wall", "springs")
_OF_A_ROW = (*_NUMBERS, "session", "kind", "stage", "datum", "gauge_id", "anchor_arc", "count")


def _merged(table: pd.DataFrame) -> pd.DataFrame:
    """Readings of one station merged to a row, tail to rim: sizing errors average, the placing error is shared."""
    kept = table[table["gap"].notna() & table["slope"].notna()]
    # Rings of two sizes are two readings, even at one station.
    ring = kept["value_mm"].where(kept["kind"] == "axial_at_diameter", 0.0)
    keys = ["bell_id", "session", "stage", "datum", "gauge_id", "kind", "z_mm", "ring"]
    rows = kept.assign(ring=ring).groupby(keys, sort=False, dropna=False).agg(
        arc=("arc", "mean"), slope=("slope", "mean"), gap=("gap", "mean"), sizing=("sizing", "mean"),
        placing=("placing", "mean"), rounding=("rounding", "mean"),
        through_wall=("through_wall", "mean"), springs=("springs", "mean"),
        anchor_arc=("anchor_arc", "mean"), count=("gap", "size"),
    ).reset_index()  # fmt: skip
    rows["variance"] = rows["sizing"] / rows["count"] + rows["placing"] + rows["rounding"]
    return rows.sort_values("arc", kind="stable")


def _one_bell(bell: str, rows: Mapping[str, NDArray[Any]], batch: str, wall: float) -> BellReadings:
    """The merged rows of one bell, its sessions numbered; a wall reading has no seat and goes with the first."""
    placed = np.flatnonzero(rows["springs"] > 0)
    numbers, first = np.unique(rows["session"][placed], return_index=True)
    session = np.where(rows["springs"] > 0, np.searchsorted(numbers, rows["session"]), 0)
    sessions = tuple(
        Session(
            rows["stage"][at], rows["datum"][at], rows["gauge_id"][at], float(rows["anchor_arc"][at]),
            rows["kind"][at] == "clearance",
        )
        for at in placed[first]
    )  # fmt: skip
    return BellReadings(
        bell_id=bell, batch_id=batch, **{name: rows[name].astype(float) for name in _NUMBERS},
        session=session, sessions=sessions, wall=wall, readings=int(rows["count"].sum()),
    )  # fmt: skip
