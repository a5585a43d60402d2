"""What a clean record book tells the ridge: every reading as a gap on the steel. Own reading, apart from springfit's.

For the invented shops and the sample shops only: it forgives nothing that a person's book may hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.interpolate import UnivariateSpline

from ..mandrel_lines import SteelLine, line_through

__all__ = ["BatchRows", "read_batches", "read_table", "steel_of"]

Array = NDArray[np.float64]

INCH = 25.4
STEEL_ERROR_MM = 0.0025  # 1 sd of a radius of the steel as measured
OVAL_MM = 0.007  # 1 sd of a radius about its mean round the bell
FEELER_STEP_MM = 0.0254
FLOOR_MM = 0.006  # 1 sd of what no column can follow
NEAR_BACK_PASS_MM = (-40.0, 60.0)  # about the end of the draw: what back passes swell is no springback


@dataclass(frozen=True, eq=False)
class BatchRows:
    """The rows of one batch: arrays (n,) of `arc`, `slope`, `gap`, `variance`; `through` 1 where the wall is read too,
    `springs` 0 where nothing but the wall is; `anchor` [mm] arc whose axial motion the datum follows (nan: none);
    `bell`, `session` numbers; `stage` "spun" or "trimmed"; `loose` 1 where the seat is anywhere."""

    batch_id: str
    conditions: dict[str, object]
    steel: SteelLine
    rows: pd.DataFrame


def read_table(path: Path) -> pd.DataFrame:
    """A table with its lengths in mm, whatever they were written in."""
    table = pd.read_csv(path)
    for name in [n for n in table.columns if str(n).endswith("_in")]:
        table[name.removesuffix("in") + "mm"] = INCH * table.pop(name)
    return table


def steel_of(z: Array, diameter: Array) -> SteelLine:
    """The line through stations measured with an error: a smoothing spline over the chord."""
    c = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(z), np.diff(diameter) / 2.0))])
    spline = UnivariateSpline(c, diameter / 2.0, w=np.full(len(c), 1.0 / STEEL_ERROR_MM), s=len(c))
    return line_through(z, spline(c))


def read_batches(shop: Path) -> list[BatchRows]:
    """Every batch that was measured."""
    tables = {name: read_table(shop / f"{name}.csv") for name in
              ("mandrels", "mandrel_profile", "batches", "bells", "measurements", "gauges")}  # fmt: skip
    steels = {
        (str(m), int(v)): steel_of(g["z_mm"].to_numpy(), g["diameter_mm"].to_numpy())
        for (m, v), g in tables["mandrel_profile"].groupby(["mandrel_id", "revision"])
    }
    readings = tables["measurements"].merge(tables["bells"][["bell_id", "batch_id", "witness_z_mm"]], on="bell_id")
    readings = readings.merge(tables["gauges"], on="gauge_id")
    batches = []
    for _, batch in tables["batches"].iterrows():
        own = readings[readings["batch_id"] == batch["batch_id"]]
        held = tables["mandrels"][tables["mandrels"]["mandrel_id"] == batch["mandrel_id"]]
        held = held[held["in_force_from"] <= batch["spun_on"]].sort_values("in_force_from")
        steel = steels[str(batch["mandrel_id"]), int(held["revision"].iloc[-1])]
        rows = _rows(own.reset_index(drop=True), batch, steel) if len(own) else own
        if len(rows):
            batches.append(BatchRows(str(batch["batch_id"]), dict(batch), steel, rows))
    return batches


def _rows(own: pd.DataFrame, batch: pd.Series, steel: SteelLine) -> pd.DataFrame:
    """Readings as gaps, two angles of one station merged."""
    kind, datum = own["kind"].to_numpy(object), own["datum"].to_numpy(object)
    z, radius = own["z_mm"].to_numpy(float).copy(), own["value_mm"].to_numpy(float) / 2.0
    rims = np.where(own["stage"] == "spun", batch["blank_rim_mm"], batch["finished_rim_mm"]) / 2.0
    rim_arc = np.interp(rims, np.maximum.accumulate(steel.r), steel.s)
    from_rim = datum == "rim"
    z[from_rim] = np.interp(rim_arc[from_rim], steel.s, steel.z) - z[from_rim]
    ball = own["ball_radius_mm"].fillna(0.0).to_numpy(float)
    wall = float(batch["wall_mm"])
    outside = np.isin(kind, ("outside_diameter", "axial_at_diameter"))
    arc, distance = _foot(steel, z, radius + ball)
    gap = distance - wall - ball
    seated = ~outside
    arc[seated] = np.interp(z[seated], steel.z, steel.s)
    feeler, of_wall = kind == "clearance", kind == "wall"
    leaf = own["value_mm"].to_numpy(float)
    gap[feeler] = np.where(leaf[feeler] > 0.0, leaf[feeler] + FEELER_STEP_MM / 2.0, np.nan)
    gap[of_wall] = leaf[of_wall] - wall
    slope = np.interp(arc, steel.s, steel.slope)
    size, place = own["repeatability_mm"].to_numpy(float), own["station_mm"].to_numpy(float)
    sized = np.where(outside, (size**2 / 4.0 + OVAL_MM**2) * np.cos(slope) ** 2, size**2)
    anchor = np.where(datum == "witness", np.interp(own["witness_z_mm"], steel.z, steel.s), np.nan)
    # A scan with no axial reference would have to be registered first: left out.
    gap[(datum == "free") & outside] = np.nan
    table = own[["bell_id", "stage", "kind", "gauge_id", "z_mm"]].assign(
        datum=np.where(feeler, "feeler", datum), arc=arc, slope=slope, gap=gap, sized=sized,
        placed=np.where(of_wall, 0.0, (place * np.sin(slope)) ** 2),
        ring=np.where(kind == "axial_at_diameter", leaf, 0.0),
        rounding=np.where(feeler, FEELER_STEP_MM**2 / 12.0, 0.0), through=(outside | of_wall).astype(float),
        springs=(~of_wall).astype(float), anchor=np.where(from_rim & outside, rim_arc, anchor),
    )  # fmt: skip
    keep = table["gap"].notna() & (table["arc"] > 1.0) & (table["arc"] < rim_arc - 0.5)
    if batch.get("back_passes", 0) > 0 and pd.notna(batch.get("draw_end_mm")):
        past = arc - float(np.interp(batch["draw_end_mm"], steel.z, steel.s))
        keep &= ~((past > NEAR_BACK_PASS_MM[0]) & (past < NEAR_BACK_PASS_MM[1]))
    return _merged(table[keep])


def _merged(table: pd.DataFrame) -> pd.DataFrame:
    keys = ["bell_id", "stage", "datum", "gauge_id", "kind", "z_mm", "ring"]
    rows = table.groupby(keys, as_index=False).agg(
        arc=("arc", "mean"), slope=("slope", "mean"), gap=("gap", "mean"), sized=("sized", "mean"),
        placed=("placed", "mean"), rounding=("rounding", "mean"), through=("through", "mean"),
        springs=("springs", "mean"), anchor=("anchor", "mean"), count=("gap", "size"),
    )  # fmt: skip
    rows["variance"] = rows["sized"] / rows["count"] + rows["placed"] + rows["rounding"] + FLOOR_MM**2
    rows["bell"] = rows.groupby("bell_id").ngroup()
    rows["session"] = rows.groupby(["bell_id", "stage", "datum", "gauge_id"]).ngroup()
    return rows


def _foot(steel: SteelLine, z: Array, r: Array) -> tuple[Array, Array]:
    """Arc of the foot of the normal from points (n,) and the distance [mm]."""
    s = np.interp(z, steel.z, steel.s)
    for _ in range(25):
        foot_z, foot_r, slope = (np.interp(s, steel.s, column) for column in (steel.z, steel.r, steel.slope))
        s = np.clip(s + 0.8 * ((z - foot_z) * np.cos(slope) + (r - foot_r) * np.sin(slope)), 0.0, steel.s[-1])
    foot_z, foot_r, slope = (np.interp(s, steel.s, column) for column in (steel.z, steel.r, steel.slope))
    return s, -(z - foot_z) * np.sin(slope) + (r - foot_r) * np.cos(slope)
