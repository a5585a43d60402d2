"""What drives springback from place to place along a bell: one function a feature, with its unit, reason and sign.

A *station feature* is known at every place of a mandrel and shapes the basis fields. A new feature is one function and
one line of `STATION_FEATURES`, and a field that follows it in `stress_basis`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.points import Points

__all__ = ["FLARE_KNOTS_DEG", "STATION_FEATURES", "StationFeature", "StationInputs", "flare_coordinate"]

Floats = NDArray[np.float64]

# Slope angles [deg] that share the flare evenly: close at the throat, where the bell turns from tube to flare; assumed.
FLARE_KNOTS_DEG = (0.0, 2.0, 4.0, 8.0, 14.0, 22.0, 32.0, 45.0, 58.0, 70.0, 80.0, 90.0)
# Past the draw end, where half is spun: the ring bears on a stretch, all of it drawn; as far as the blur; assumed
DRAW_END_LAG_MM = 3.0
DRAW_END_BLUR_MM = 3.0  # the ring's contact is a few walls long: the zones change over about 3 mm each way
# 1 sd: about the decay length of an edge (`mechanics.shell.decay`), at 40 mm radius 3.5 in 0.5 mm sheet, 4.4 in 0.8 mm
FELT_MM = 4.0
# Half width of the stretch against which local curvature is held; wider than a dish of 38 mm; assumed
NEIGHBOURHOOD_MM = 25.0
USUAL_RADIUS_OVER_WALL = 120.0  # at the rim: 60 mm of radius in half a millimetre
FADES_MM = 15.0  # arc over which the draw end and the rim are felt; three or four such decay lengths; assumed


@dataclass(frozen=True)
class StationInputs:
    """What a bell lies on as it is spun: n `points` of its steel (mm, rad), sheet `wall` [mm], the arcs [mm] where
    drawing stopped (`draw_end`, 0 = not drawn) and of the rim before trimming (`rim_arc`)."""

    points: Points
    wall: float
    draw_end: float
    rim_arc: float


@dataclass(frozen=True)
class StationFeature:
    """One number a station, `value(inputs)` (n,). `sign` of its effect on the gap as the trade or the mechanics expects
    it (0: either way)."""

    name: str
    unit: str
    reason: str
    sign: int
    value: Callable[[StationInputs], Floats]


def flare_coordinate(slope: Floats) -> Floats:
    """Flare rate as a coordinate from 0 (tube) to 11 (flat): slope angle [rad] with `FLARE_KNOTS_DEG` evenly spaced."""
    return np.interp(np.degrees(slope), FLARE_KNOTS_DEG, np.arange(len(FLARE_KNOTS_DEG), dtype=float))


def zone(inputs: StationInputs) -> Floats:
    """0 in the drawn zone, 1 in the spun one."""
    if inputs.draw_end <= 0:
        return np.ones_like(inputs.points.s)
    return 0.5 * (1 + np.tanh((inputs.points.s - inputs.draw_end - DRAW_END_LAG_MM) / (2 * DRAW_END_BLUR_MM)))


def overlap(inputs: StationInputs) -> Floats:
    """1 where spinning took over from drawing, fading toward the rim; 0 where drawn."""
    past = np.clip(inputs.points.s - inputs.draw_end, 0.0, None)
    return zone(inputs) * np.exp(-past / FADES_MM)


def edge(inputs: StationInputs) -> Floats:
    """1 at the rim before trimming, fading toward the tail."""
    return np.exp(-np.clip(inputs.rim_arc - inputs.points.s, 0.0, None) / FADES_MM)


def radius_over_wall(inputs: StationInputs) -> Floats:
    """ln of radius over wall, 0 at the usual rim."""
    return np.log(inputs.points.r / inputs.wall / USUAL_RADIUS_OVER_WALL)


def facet(inputs: StationInputs) -> Floats:
    """Curvature [1/mm] above that of its neighbourhood."""
    arc, curvature = inputs.points.s, inputs.points.curvature
    return _felt(arc, curvature) - _neighbourhood(arc, curvature)


STATION_FEATURES: tuple[StationFeature, ...] = (
    StationFeature("zone", "0 drawn .. 1 spun", "drawing over the ring leaves hardly any springback", +1, zone),
    StationFeature("flare", "0 tube .. 11 flat", "how fast the bell opens decides how hard the hoop is pressed in", +1,
                   lambda b: flare_coordinate(b.points.slope)),
    StationFeature("overlap", "1 at the draw end, fading", "metal drawn first and spun after springs more", +1,
                   overlap),
    StationFeature("edge", "1 at the blank's rim, fading", "the free edge was never held down", 0, edge),
    StationFeature("radius_over_wall", "ln of radius / wall / 120", "a wall bends little to lie on a wide ring", 0,
                   radius_over_wall),
    StationFeature("facet", "1/mm above its neighbourhood", "a corner bends the sheet more than the flare about it", 0,
                   facet),
)  # fmt: skip


def _felt(arc: Floats, curvature: Floats) -> Floats:
    """Curvature as the sheet feels it, averaged over `FELT_MM` (1 sd): a corner sharper than the sheet can follow is no
    facet, and a feature that saw it would answer every ripple of a draft with a larger one."""
    weight = np.exp(-0.5 * ((arc[None, :] - arc[:, None]) / FELT_MM) ** 2) * np.gradient(arc)
    return (weight @ curvature) / weight.sum(axis=1)


def _neighbourhood(arc: Floats, curvature: Floats) -> Floats:
    """Straight-line fit of the curvature over `NEIGHBOURHOOD_MM` each way, with a cosine window, at its middle."""
    offset = arc[None, :] - arc[:, None]
    window = np.where(np.abs(offset) < NEIGHBOURHOOD_MM, 1 + np.cos(np.pi * offset / NEIGHBOURHOOD_MM), 0.0)
    cell = np.gradient(arc)
    weight = window * cell
    total, first, second = weight.sum(1), (weight * offset).sum(1), (weight * offset**2).sum(1)
    level, tilt = weight @ curvature, (weight * offset) @ curvature
    return (second * level - first * tilt) / (total * second - first**2)
