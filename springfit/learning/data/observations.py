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

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Self

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.geometry.meridian import Meridian
from springfit.geometry.registration import registration
from springfit.geometry.seating import nearest_point
from springfit.records.book import Book

__all__ = ["Bell", "BellReadings", "Session", "bell_readings"]

Floats = NDArray[np.float64]

FEELER_STEP_MM = 0.0254  # one thou: the usual step of feeler leaves; common practice, no source
OUT_OF_ROUND_MM = 0.007  # 1 sd of a radius about its mean round the bell; replaced by the fit's noise scale


@dataclass(frozen=True)
class Session:
    """One setting-up of one bell: what its readings share. `anchor_arc` [mm] is the station whose axial motion
    the datum follows (nan: the tail end, or no axial reference at all for `free`)."""

    stage: str
    datum: str
    gauge_id: str
    anchor_arc: float


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
    """A bell's readings with `design` (n, columns.all), what each unknown adds to each, and elastic `reach` (n,) [mm]
    there."""

    design: Floats
    reach: Floats

    def rows_where(self, keep: NDArray[np.bool_]) -> Self:
        """The bell with only the rows where `keep` (n,) is true; sessions stay, some perhaps empty."""
        return replace(super().rows_where(keep), design=self.design[keep], reach=self.reach[keep])


def bell_readings(book: Book, meridian_of: Callable[[str, int], Meridian]) -> tuple[BellReadings, ...]:
    """Every measured bell of `book` as `BellReadings`, in the order of the bells table.

    `meridian_of(mandrel_id, revision)` gives the steel. Readings past the measured ends of the steel are left out
    (the record book's checks have named them). Valid for books that passed `read_book`.
    """
    bells = book.bells.merge(book.batches, on="batch_id", suffixes=("", "_of_batch"))
    gauges = book.gauges.set_index("gauge_id")[["repeatability_mm", "station_mm", "ball_radius_mm"]]
    rows = book.measurements.merge(bells, on="bell_id", suffixes=("", "_of_bell")).join(gauges, on="gauge_id")
    rows["stated_wall"] = rows["wall_mm"].fillna(rows["wall_mm_of_batch"])
    rows["session"] = rows.groupby(["bell_id", "stage", "datum", "gauge_id"], sort=False).ngroup()
    located = []
    for _, group in rows.groupby(["mandrel_id", "revision"], sort=False):
        steel = meridian_of(str(group["mandrel_id"].iloc[0]), int(group["revision"].iloc[0]))
        located.append(_located(group, steel))
    if not located:
        return ()
    table = pd.concat(located, ignore_index=True)
    merged = {str(key): group for key, group in _merged(table).groupby("bell_id", sort=False)}
    batch_of = dict(zip(table["bell_id"], table["batch_id"], strict=True))
    wall_of = dict(zip(table["bell_id"], table["stated_wall"], strict=True))
    return tuple(
        _one_bell(bell, merged[bell], str(batch_of[bell]), float(wall_of[bell]))
        for bell in bells["bell_id"]
        if bell in merged and (merged[bell]["springs"] > 0).any()
    )


def _located(rows: pd.DataFrame, meridian: Meridian) -> pd.DataFrame:
    """`rows` with `arc`, `slope`, `gap`, `variance` and `anchor_arc` on the meridian they belong to."""
    radius, z = rows["value_mm"].to_numpy(float) / 2.0, rows["z_mm"].to_numpy(float).copy()
    kind, datum = rows["kind"].to_numpy(object), rows["datum"].to_numpy(object)
    rim_radius = np.where(rows["stage"] == "spun", rows["blank_rim_mm"], rows["finished_rim_mm"]) / 2.0
    rim_arc = _arc_at_radius(meridian, rim_radius)
    witness_arc = _arc_at_z(meridian, rows["witness_z_mm"].to_numpy(float))
    from_rim = datum == "rim"
    z[from_rim] = _z_at_arc(meridian, rim_arc[from_rim]) - z[from_rim]

    wall, ball = rows["stated_wall"].to_numpy(float), rows["ball_radius_mm"].fillna(0.0).to_numpy(float)
    surface = np.isin(kind, ("outside_diameter", "axial_at_diameter", "inside_diameter"))
    outside = surface & (kind != "inside_diameter")
    # A stylus trace gives the ball's centre along z but its radius less the ball's: the centre is one ball radius
    # above the surface along the normal, so the point recorded lies `ball` straight below the centre.
    side = np.where(outside, 1.0, -1.0)
    radius, standing_off = radius + side * ball, np.where(outside, wall, 0.0) + side * ball
    for setting in rows.index[datum == "free"].groupby(rows["session"][datum == "free"]).values():
        at = rows.index.get_indexer(setting)
        at = at[surface[at]]
        z[at] += registration(meridian, z[at], radius[at], standing_off=standing_off[at])
    arc, distance = np.full(len(rows), np.nan), np.full(len(rows), np.nan)
    arc[surface], distance[surface] = nearest_point(meridian, z[surface], radius[surface])
    gap = distance - standing_off
    seated = np.isin(kind, ("clearance", "wall"))
    arc[seated] = _arc_at_z(meridian, z[seated])
    feeler = kind == "clearance"
    leaf = rows["value_mm"].to_numpy(float)[feeler]
    # Where the thinnest leaf does not pass the bell may bear on the steel: that bounds the gap on one side only,
    # and read as a number it would pull every forecast toward zero.
    gap[feeler] = np.where(leaf > 0, leaf + FEELER_STEP_MM / 2.0, np.nan)
    of_wall = kind == "wall"
    gap[of_wall] = rows["value_mm"].to_numpy(float)[of_wall] - wall[of_wall]
    # A bell can be felt only where it stands off, and one that bears on the steel all round is never told of: seats
    # of felt bells are a chosen few, and say nothing of where along the axis a bell lies.
    datum = np.where(feeler, "free", datum)
    slope = np.full(len(rows), np.nan)
    inside = np.isfinite(arc)
    slope[inside] = meridian.at(arc[inside]).slope

    sizing, placing = rows["repeatability_mm"].to_numpy(float), rows["station_mm"].to_numpy(float)
    sizing = np.where(surface, sizing / 2.0 * np.cos(slope), sizing)
    placing = np.where(surface, placing * np.sin(slope), 0.0)
    rounding = np.where(feeler, FEELER_STEP_MM**2 / 12.0, 0.0)
    return rows.assign(
        datum=datum, arc=arc, slope=slope, gap=gap, through_wall=(outside | of_wall).astype(float), rounding=rounding,
        springs=np.where(of_wall, 0.0, 1.0),
        sizing=sizing**2 + np.where(surface, OUT_OF_ROUND_MM**2 * np.cos(slope) ** 2, 0.0), placing=placing**2,
        anchor_arc=np.where(from_rim, rim_arc, np.where(datum == "witness", witness_arc, np.nan)),
    )  # fmt: skip


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


def _one_bell(bell: str, rows: pd.DataFrame, batch: str, wall: float) -> BellReadings:
    """The merged rows of one bell, its sessions numbered; a wall reading has no seat and goes with the first."""
    placed = rows[rows["springs"] > 0]
    numbers, first = np.unique(placed["session"].to_numpy(), return_index=True)
    heads = placed.iloc[first]
    session = np.searchsorted(numbers, rows["session"].to_numpy())
    session = np.where(rows["springs"] > 0, session, 0)
    sessions = tuple(
        Session(stage=stage, datum=datum, gauge_id=gauge, anchor_arc=float(anchor))
        for stage, datum, gauge, anchor in heads[["stage", "datum", "gauge_id", "anchor_arc"]].itertuples(
            index=False
        )
    )
    names = ("arc", "slope", "gap", "variance", "through_wall", "springs")
    columns = {name: rows[name].to_numpy(float) for name in names}
    return BellReadings(
        bell_id=bell, batch_id=batch, **columns,
        session=session, sessions=sessions, wall=wall, readings=int(rows["count"].sum()),
    )  # fmt: skip


def _arc_at_z(meridian: Meridian, z: Floats) -> Floats:
    """Arc station of axial station `z`; nan past the ends or where `z` is nan."""
    return np.interp(z, meridian.z, meridian.s, left=np.nan, right=np.nan)


def _arc_at_radius(meridian: Meridian, radius: Floats) -> Floats:
    """Arc station, from the rim inward, where the steel first has `radius`; the rim itself for a larger one."""
    return np.interp(radius, np.maximum.accumulate(meridian.r), meridian.s)


def _z_at_arc(meridian: Meridian, arc: Floats) -> Floats:
    return np.interp(arc, meridian.s, meridian.z)
