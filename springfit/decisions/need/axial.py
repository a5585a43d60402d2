"""Moves along the axis: what a slide explains, and how far a flare must move so that nothing has to be added.

A bell moved toward the rim by a changes its error by -a sin(slope). A slide costs nothing, so it is tried
first; a new line turned further toward the rim by m is the same bell slid by -m, and takes m sin(slope) more
steel off everywhere: that is how a flare lacking steel in one place can still be saved.
"""

from __future__ import annotations

import numpy as np
from scipy.integrate import trapezoid
from scipy.optimize import minimize_scalar

from springfit.decisions.need.masking import BoolArray
from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.geometry.seating import nearest_point, slid

__all__ = ["explaining_slide", "move_to_remove", "removal_after_move", "sparing_slide"]


MOVE_ROUNDS = 12  # a bound: each asks for what the worst row still lacks
# Of steel a slide makes lacking, to steel it spares: as for a bare mandrel's cut (`verdict.cautious.BARE_RATIO`)
LACKING_COST = 10.0
MOVE_CLOSED_MM = 0.0005  # as the inverse is closed (`inverse.CLOSED_MM`)
LEAST_SINE = 0.02  # a slope of 1 degree: below it no move that a target could allow makes a removal


def explaining_slide(error: FloatArray, slope: FloatArray, allowance: float) -> tuple[float, float]:
    """The slide within +-allowance that leaves the smallest largest error, and that error; both [mm].

    error [mm], slope [rad]: (n,) of the open rows. Convex in one number, so a bounded search finds it.
    """
    sine = np.sin(slope)
    if allowance <= 0.0 or error.size == 0:
        return 0.0, float(np.max(np.abs(error), initial=0.0))
    found = minimize_scalar(
        lambda a: float(np.max(np.abs(error - a * sine))),
        bounds=(-allowance, allowance),
        method="bounded",
        options={"xatol": 1e-6},
    )
    return float(found.x), float(found.fun)


def sparing_slide(error: FloatArray, slope: FloatArray, s: FloatArray, *, allowance: float) -> float:
    """The slide toward the rim within the allowance that spares the most steel [mm], 0 or more.

    Minimises the steel left to cut plus ten times the steel lacking, integrated along the arc, so that no
    slide is taken that makes rows lack steel for the sake of cutting less elsewhere.
    """
    if allowance <= 0.0 or error.size < 2:
        return 0.0
    sine = np.sin(slope)

    def cost(a: float) -> float:
        left = error - a * sine
        return float(trapezoid(np.maximum(left, 0.0) + LACKING_COST * np.maximum(-left, 0.0), s))

    found = minimize_scalar(cost, bounds=(0.0, allowance), method="bounded", options={"xatol": 1e-6})
    best = min((0.0, float(found.x), allowance), key=cost)
    return best


def removal_after_move(present: Meridian, wanted: Meridian, move: float) -> FloatArray:
    """Steel to remove [mm per side, (n,)] on `present` to reach `wanted` moved by `move` [mm].

    move: along the axis, + toward the rim. NaN past the ends of the moved line.
    """
    return nearest_point(slid(wanted, move), present.z, present.r)[1]


def move_to_remove(
    present: Meridian,
    wanted: Meridian,
    open_rows: BoolArray,
    *,
    floor: float,
    extra: FloatArray | None = None,
) -> float | None:
    """Smallest move of the whole line toward the rim [mm] that leaves no open row lacking more than `floor`.

    extra: (n,) steel beyond `wanted` that each row is known to want off [mm]. None when a lacking row lies so
    near the cylinder that no move helps.
    """
    added = np.zeros(present.s.size) if extra is None else extra
    move = 0.0
    for _ in range(MOVE_ROUNDS):
        lack = _lack(present, removal_after_move(present, wanted, move) + added, open_rows, floor)
        if lack is None:
            return None
        worst, further = lack
        if worst <= MOVE_CLOSED_MM:
            return move
        move += further
    return move


def _lack(
    present: Meridian, removal: FloatArray, open_rows: BoolArray, floor: float
) -> tuple[float, float] | None:
    """Largest steel lacking below the floor and the further move it asks for [mm]; None: no move helps."""
    rows = open_rows & np.isfinite(removal)
    lacking = np.where(rows, np.maximum(-removal - floor, 0.0), 0.0)
    sine = np.sin(present.slope)
    if np.any((lacking > MOVE_CLOSED_MM) & (sine < LEAST_SINE)):
        return None
    moves = np.where(lacking > 0.0, lacking / np.maximum(sine, LEAST_SINE), 0.0)
    return float(lacking.max(initial=0.0)), float(moves.max(initial=0.0))
