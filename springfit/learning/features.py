"""The catalogue of what drives springback in the trade: one function a feature, with its unit, reason and sign.

Two kinds. A *station feature* is known at every place of a mandrel (flare rate, zone, local curvature ...) and shapes
the basis fields. A *batch feature* is one number a batch (wall, passes, tool nose ...) and scales them; nan means the
record is blank, which widens the band. Labels without an order (lot, spinner ...) are `LABELS`: groups that share
a variance.

Each batch feature is centred on the shop's usual practice and scaled so that one unit is a change a maker would
call large; a new feature is one function and one line of `BATCH_FEATURES`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.points import Points
from springfit.mechanics.alloys import alloy
from springfit.mechanics.hardening import flow_stress
from springfit.records.conditions import Conditions

__all__ = ["BATCH_FEATURES", "LABELS", "BatchFeature", "flare_coordinate", "station_features", "tool_nose"]

Floats = NDArray[np.float64]

LABELS = ("mandrel", "alloy", "lot", "spinner", "draw_ring", "lubricant")

# Slope angles [deg] that share the flare evenly: close at the throat, where the bell turns from tube to flare.
FLARE_KNOTS_DEG = (0.0, 2.0, 4.0, 8.0, 14.0, 22.0, 32.0, 45.0, 58.0, 70.0, 80.0, 90.0)
DRAW_END_BLUR_MM = 3.0  # the ring's contact is a few walls long: the zones change over about 3 mm each way
FELT_MM = 4.0  # 1 sd: about the decay length of an edge disturbance in the throat
NEIGHBOURHOOD_MM = 25.0  # half width of the stretch against which local curvature is held
USUAL_RADIUS_OVER_WALL = 120.0  # at the rim: 60 mm of radius in half a millimetre
_ANNEAL = {"full": 0.0, "partial": 0.5, "none": 1.0}
_HUMP = {"none": -1.0, "low": -0.5, "good": 0.0, "high": 0.5}


@dataclass(frozen=True)
class BatchFeature:
    """One number of a batch. `spread` is the usual 1 sd of it where the record is blank; `sign` of its effect on the
    gap as the trade or the mechanics expects it (0: either way)."""

    name: str
    unit: str
    reason: str
    sign: int
    spread: float
    value: Callable[[Conditions], float]


def _log_ratio(value: float | None, usual: float) -> float:
    return float("nan") if value is None or not value > 0 else float(np.log(value / usual))


def _word(table: dict[str, float], word: str | None) -> float:
    return table.get(word, float("nan")) if word is not None else float("nan")


def tool_nose(conditions: Conditions) -> float:
    """ln of the nose radius over 10 mm, the usual one; nan where blank."""
    return _log_ratio(conditions.tool_nose_mm, 10.0)


def _temper(conditions: Conditions) -> float:
    """ln of the yield of the sheet as bought over 120 MPa (annealed cartridge brass); nan where temper is blank."""
    if conditions.temper is None:
        return float("nan")
    stress = flow_stress(alloy(conditions.alloy), temper=conditions.temper, anneal="none")
    return _log_ratio(float(stress.value), 120.0)


BATCH_FEATURES: tuple[BatchFeature, ...] = (
    BatchFeature("wall", "ln of wall / 0.5 mm", "bending recovery falls as the wall grows", -1, 0.15,
                 lambda c: _log_ratio(c.wall_mm, 0.5)),
    BatchFeature("temper", "ln of yield as bought / 120 MPa", "harder sheet stores more elastic strain", +1, 0.4,
                 _temper),
    BatchFeature("anneal", "0 full, 0.5 partial, 1 none", "unannealed sheet stores more elastic strain", +1, 0.4,
                 lambda c: _word(_ANNEAL, c.anneal)),
    BatchFeature("passes", "ln of forward passes / 2", "each pass works and presses the sheet again", 0, 0.5,
                 lambda c: _log_ratio(c.passes, 2.0)),
    BatchFeature("hump", "-1 none .. 0 good .. 0.5 high", "free metal ahead of the tool stands off the steel", +1,
                 0.4, lambda c: _word(_HUMP, c.hump)),
    BatchFeature("tool_nose", "ln of nose radius / 10 mm", "a blunt nose bends the sheet less as it passes", 0, 0.6,
                 tool_nose),
    BatchFeature("spindle_speed", "ln of speed / 1000 rpm", "none expected: the watchdog of this list", 0, 0.2,
                 lambda c: _log_ratio(c.spindle_rpm, 1000.0)),
)  # fmt: skip


def flare_coordinate(slope: Floats) -> Floats:
    """Flare rate as a coordinate from 0 (tube) to 11 (flat): slope angle [rad] with `FLARE_KNOTS_DEG` evenly spaced."""
    return np.interp(np.degrees(slope), FLARE_KNOTS_DEG, np.arange(len(FLARE_KNOTS_DEG), dtype=float))


def station_features(points: Points, *, wall: float, draw_end: float, rim_arc: float) -> dict[str, Floats]:
    """Station features at the n `points` of a meridian (mm, rad); each an array (n,).

    `spun` 0 in the drawn zone, 1 in the spun one; `flare` the flare coordinate; `overlap` 1 at the draw end [mm of
    `draw_end`], fading over 15 mm of spun zone; `edge` 1 at the rim before trimming (`rim_arc` [mm]), fading over
    15 mm; `radius` ln of radius over wall (`wall` [mm]), 0 at the usual rim; `facet` [1/mm] curvature above that of its
    neighbourhood. The first answers how far the ring went, the second how fast the bell opens, the next two what two
    edges do, the fifth how little a wall must bend to lie on so wide a ring, the last whether a corner lies here.
    """
    arc, curvature = points.s, points.curvature
    past_draw = arc - draw_end
    spun = (
        np.ones_like(arc)
        if draw_end <= 0
        else 0.5 * (1 + np.tanh((past_draw - 3.0) / (2 * DRAW_END_BLUR_MM)))
    )
    return {
        "spun": spun,
        "flare": flare_coordinate(points.slope),
        "overlap": spun * np.exp(-np.clip(past_draw, 0.0, None) / 15.0),
        "edge": np.exp(-np.clip(rim_arc - arc, 0.0, None) / 15.0),
        "radius": np.log(points.r / wall / USUAL_RADIUS_OVER_WALL),
        "facet": _felt(arc, curvature) - _neighbourhood(arc, curvature),
    }


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
