"""A reading of each kind as a signed normal distance from the steel, with its variance: one function a kind.

What `z` and `value` of a kind are, and what a datum ties z = 0 to, says `records.reading_kinds`; here is what follows
from it. Diameters of rings on the bell find their foot on the meridian; leaves and walls are taken along the normal and
need none. A new kind is a function and a line of `_READINGS`.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from springfit.geometry.meridian import Meridian
from springfit.geometry.registration import registration
from springfit.geometry.seating import nearest_point
from springfit.records.blank_cells import blanks_filled, rim_at_stage
from springfit.records.reading_kinds import DIAMETERS, KINDS, z_from_tail
from springfit.records.tables import TABLES

__all__ = ["FEELER_STEP_MM", "on_the_steel"]

Floats = NDArray[np.float64]

FEELER_STEP_MM = 0.0254  # one thou: the usual step of feeler leaves; common practice, no source
# 1 sd of a radius about its mean round the bell, wherever it is read; a quarter of a thou, assumed; replaced by the
# fit's noise scale. Lobes of the widest places alone are taken to be four times as large (`out_of_round.ROUND_MM`).
OUT_OF_ROUND_MM = 0.007


def on_the_steel(rows: pd.DataFrame, meridian: Meridian) -> pd.DataFrame:
    """`rows` of readings of one steel with where each lies on its `meridian` and how far off.

    Needs the columns of the measurements, `stated_wall`, the rims, `witness_z_mm`, `session` and the gauge's errors.
    Added: `arc` [mm], `slope` [rad], `gap` [mm] (nan where a reading lies past the steel or says nothing), the
    variances `sizing`, `placing`, `rounding` [mm^2], `through_wall`, `springs` (see `BellReadings`), `anchor_arc` [mm];
    `datum` is "free" where the reading says nothing of the seat.
    """
    kind, datum = rows["kind"].to_numpy(object), rows["datum"].to_numpy(object)
    rim = rim_at_stage(rows["stage"], rows["blank_rim_mm"], rows["finished_rim_mm"])
    rim_arc = meridian.arc_reaching(rim / 2.0)
    witness_arc = _arc_at_z(meridian, rows["witness_z_mm"].to_numpy(float))
    rows = rows.assign(
        anchor_arc=np.where(datum == "rim", rim_arc, np.where(datum == "witness", witness_arc, np.nan)),
        z_on_steel=z_from_tail(datum, rows["z_mm"].to_numpy(float), np.interp(rim_arc, meridian.s, meridian.z)),
        # A bell can be felt only where it stands off, and one that bears on the steel all round is never told of: seats
        # of felt bells are a chosen few, and say nothing of where along the axis a bell lies.
        datum=np.where(kind == "clearance", "free", datum),
        through_wall=[float(KINDS[name].through_wall) for name in kind],
        springs=[float(KINDS[name].of_place) for name in kind],
    )
    found = {name: np.full(len(rows), np.nan) for name in _READ}
    for kinds, read in _READINGS:
        at = np.flatnonzero(np.isin(kind, kinds))
        if at.size:
            for name, values in zip(_READ, read(rows.iloc[at], meridian), strict=True):
                found[name][at] = values
    return rows.assign(**found)


_READ = ("arc", "slope", "gap", "sizing", "placing", "rounding")
Read = tuple[Floats, Floats, Floats, Floats, Floats, Floats]
"""Arc [mm], slope [rad], gap [mm] and the variances [mm^2] of its size, its place and its rounding, each (n,)."""


def _diameters(rows: pd.DataFrame, meridian: Meridian) -> Read:
    """Rings on either surface: foot and distance of the point (z, r) on the steel, less the wall crossed."""
    outside = rows["through_wall"].to_numpy(float) > 0
    z, radius = rows["z_on_steel"].to_numpy(float).copy(), rows["value_mm"].to_numpy(float) / 2.0
    ball = blanks_filled(rows["ball_radius_mm"], _BALL).to_numpy(float)
    # A stylus trace gives the ball's centre along z but its radius less the ball's: the centre is one ball radius
    # above the surface along the normal, so the point recorded lies `ball` straight below the centre.
    side = np.where(outside, 1.0, -1.0)
    radius = radius + side * ball
    standing_off = np.where(outside, rows["stated_wall"].to_numpy(float), 0.0) + side * ball
    untied = rows.reset_index(drop=True)
    untied = untied[untied["datum"] == "free"]
    for setting in untied.groupby("session").indices.values():
        at = untied.index[setting].to_numpy()
        z[at] += registration(meridian, z[at], radius[at], standing_off=standing_off[at])
    arc, distance = nearest_point(meridian, z, radius)
    slope = _slope_at_arc(meridian, arc)
    sizing = rows["repeatability_mm"].to_numpy(float) / 2.0 * np.cos(slope)
    placing = rows["station_mm"].to_numpy(float) * np.sin(slope)
    variance = sizing**2 + OUT_OF_ROUND_MM**2 * np.cos(slope) ** 2
    return arc, slope, distance - standing_off, variance, placing**2, np.zeros(len(rows))


def _clearances(rows: pd.DataFrame, meridian: Meridian) -> Read:
    """Leaves between seated bell and steel: the thickest that passed, and half a step more."""
    arc, leaf = _arc_at_z(meridian, rows["z_on_steel"].to_numpy(float)), rows["value_mm"].to_numpy(float)
    # Where the thinnest leaf does not pass the bell may bear on the steel: that bounds the gap on one side only,
    # and read as a number it would pull every forecast toward zero.
    gap = np.where(leaf > 0, leaf + FEELER_STEP_MM / 2.0, np.nan)
    sizing, none = rows["repeatability_mm"].to_numpy(float), np.zeros(len(rows))
    return arc, _slope_at_arc(meridian, arc), gap, sizing**2, none, none + FEELER_STEP_MM**2 / 12.0


def _walls(rows: pd.DataFrame, meridian: Meridian) -> Read:
    """Walls: what they have over the stated one."""
    arc, none = _arc_at_z(meridian, rows["z_on_steel"].to_numpy(float)), np.zeros(len(rows))
    excess = rows["value_mm"].to_numpy(float) - rows["stated_wall"].to_numpy(float)
    sizing = rows["repeatability_mm"].to_numpy(float)
    return arc, _slope_at_arc(meridian, arc), excess, sizing**2, none, none


_BALL = TABLES["gauges"].by_name["ball_radius"]
_READINGS: tuple[tuple[tuple[str, ...], Callable[[pd.DataFrame, Meridian], Read]], ...] = (
    (DIAMETERS, _diameters),
    (("clearance",), _clearances),
    (("wall",), _walls),
)


def _slope_at_arc(meridian: Meridian, arc: Floats) -> Floats:
    """Slope [rad] of the steel at `arc` (n,); nan where that is."""
    slope, inside = np.full(len(arc), np.nan), np.isfinite(arc)
    slope[inside] = meridian.at(arc[inside]).slope
    return slope


def _arc_at_z(meridian: Meridian, z: Floats) -> Floats:
    """Arc station of axial station `z`; nan past the ends or where `z` is nan."""
    return np.interp(z, meridian.z, meridian.s, left=np.nan, right=np.nan)

