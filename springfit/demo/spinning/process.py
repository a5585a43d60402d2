"""How the stresses a bell holds on the steel arise from how it was spun: the invented shop's own law.

Not derived from any code under test. Its shape follows what a travelling tool does to a preform that stands
off the steel: bending under the nose wipes hoop stress out of the worked body, hoop compression survives
where the preform comes down with little bending (toward the rim), the pull along the meridian dies out
toward the free edge.
"""

from __future__ import annotations

import numpy as np
from scipy.ndimage import gaussian_filter1d

from springfit.demo.spinning.families import STATION_MM, BellLine
from springfit.demo.spinning.recipe import Recipe
from springfit.demo.spinning.sheet_metal import flow_stress
from springfit.demo.spinning.solid import POISSON_RATIO, YOUNGS_MODULUS_MPA, LockedStress

__all__ = ["FIELDS", "locked_in", "throat_swelling", "wall_along"]

# The four stresses that a batch and a bell vary separately.
FIELDS = ("hoop", "hoop_toward_rim", "meridional", "bending")

# Free metal ahead of the tool, at its fullest; pull of the draw as a share of flow stress.
STAND_OFF_MM = {"none": 0.5, "low": 1.0, "good": 1.6, "high": 2.5}
DRAW_PULL = {"nylon": 0.09, "acetal": 0.11, "lead": 0.07, "brass": 0.13}
HOOP_SURVIVING = 1.05  # of flow stress, preform far off and no bending
PULL = 0.32  # of flow stress, along the meridian where the draw ends
TURNED = 0.48  # of full plastic bending, where bending is far past yield
HOOP_FLOOR = 0.05  # spun metal always keeps some
BEND_THAT_WIPES = 1.8  # times the curvature of first yield
WIPE_SHARPNESS = 3.5
NOSE_BEND = 0.014  # 1/mm, put into a good hump by a nose of 9.5 mm
IRONED_PER_PASS = 0.92
DISHED_HOOP = 0.5  # of flow stress at most, more in the bottom of a dish, less on its shoulders
FELT_MM = 3.0  # sheet under a nose feels no curvature shorter than this
SWELLING_MM = 0.42  # per side, by one pass back toward the tail


def _share_along(line: BellLine, start: float) -> np.ndarray:
    """0 at the end of the draw, 1 at the blank's edge."""
    return np.clip((line.s - start) / (line.length - start), 0.0, 1.0)


def _smooth_step(x: np.ndarray) -> np.ndarray:
    x = np.clip(x, 0.0, 1.0)
    return x * x * (3.0 - 2.0 * x)


def locked_in(line: BellLine, recipe: Recipe, *, draw_shift_mm: float = 0.0) -> LockedStress:
    """Stresses [MPa] (n, 4) of `FIELDS` along `line`, which ends at the blank's edge, at nominal strength.

    `draw_shift_mm` moves the true end of the draw away from the one written down.
    """
    flow = flow_stress(recipe)
    start = float(np.clip(line.arc_at_z(recipe.draw_end_mm) + draw_shift_mm, 0.0, line.length - 20.0))
    u = _share_along(line, start)
    spun = _smooth_step((line.s - start) / 14.0) if recipe.draw_end_mm > 0 else np.ones_like(line.s)
    bend = _bending_ratio(line, recipe, u, flow)
    hoop = spun * (_hoop_left(line, recipe, u, flow, bend) + HOOP_FLOOR) + 0.015 * (1.0 - spun)
    hoop += DISHED_HOOP * spun * np.tanh(_local_bend(line, recipe, flow) / 0.3)
    pull = _fullness(recipe) ** 0.4 * PULL * spun * (1.0 - u) + DRAW_PULL[recipe.draw_ring] * (1.0 - spun)
    edge = _smooth_step((line.length - line.s) / 10.0)
    turned = TURNED * spun * edge * bend / (1.0 + bend) + 0.02 * (1.0 - spun)
    none = np.zeros_like(hoop)
    return LockedStress(
        meridional=flow * np.column_stack([none, none, pull, none]),
        hoop=-flow * np.column_stack([hoop, hoop * (2.0 * u - 1.0), none, none]),
        bending=1.25 * flow * np.column_stack([none, none, none, turned]),
        hoop_bending=0.7 * flow * np.column_stack([none, none, none, turned]),
    )


def _fullness(recipe: Recipe) -> float:
    return STAND_OFF_MM[recipe.hump] / STAND_OFF_MM["good"]


def _hoop_left(line: BellLine, recipe: Recipe, u: np.ndarray, flow: float, bend: np.ndarray) -> np.ndarray:
    """Hoop compression as a share of flow stress: laid in with the preform, wiped out by bending, ironed."""
    wiped = 1.0 / (1.0 + (bend / BEND_THAT_WIPES) ** WIPE_SHARPNESS)
    return HOOP_SURVIVING * _laid_in(line, recipe, u, flow) * wiped * IRONED_PER_PASS ** (recipe.passes - 1)


def _bending_ratio(line: BellLine, recipe: Recipe, u: np.ndarray, flow: float) -> np.ndarray:
    """Curvature put in by steel and nose, over that of first yield; the free edge just lies down."""
    nose = NOSE_BEND * _fullness(recipe) ** 0.3 * (9.5 / recipe.tool_nose_mm) ** 0.5 * (1.0 - u**5)
    return (np.abs(gaussian_filter1d(line.curvature, FELT_MM / STATION_MM)) + nose) / _first_yield(
        recipe, flow
    )


def _laid_in(line: BellLine, recipe: Recipe, u: np.ndarray, flow: float) -> np.ndarray:
    """How fully the hoop yields as the preform closes: 1 - exp(-stand-off / (2.5 yield strain radius))."""
    off = STAND_OFF_MM[recipe.hump] * (np.sin(np.pi * u) + 0.22 * u)
    return 1.0 - np.exp(-off * YOUNGS_MODULUS_MPA / (2.5 * flow * line.r))


def _local_bend(line: BellLine, recipe: Recipe, flow: float) -> np.ndarray:
    """Curvature of a shallow dish, over first yield: what is left of d(slope)/ds when ln tan(slope), which
    runs smoothly along any plain flare, has lost its mean over about 9 mm either way.
    """
    steep = np.log(np.tan(np.clip(line.slope, 0.005, 1.565)))
    reach = int(40.0 / STATION_MM)
    padded = np.pad(steep, reach, mode="reflect", reflect_type="odd")
    left = steep - gaussian_filter1d(padded, 9.0 / STATION_MM)[reach:-reach]
    local = np.sin(line.slope) * np.cos(line.slope) * np.gradient(left, line.s)
    return gaussian_filter1d(local, FELT_MM / STATION_MM) / _first_yield(recipe, flow)


def _first_yield(recipe: Recipe, flow: float) -> float:
    """Curvature [1/mm] at which the faces of a wide strip yield."""
    return 2.0 * flow * (1.0 - POISSON_RATIO**2) / (YOUNGS_MODULUS_MPA * recipe.wall_mm)


def wall_along(line: BellLine, recipe: Recipe, *, thinning: float = 1.0) -> np.ndarray:
    """Wall [mm] along the line: a little thin where drawn, thinnest half-way up the flare."""
    start = float(line.arc_at_z(recipe.draw_end_mm))
    u = _share_along(line, start)
    thin = 0.012 + 0.030 * np.sin(np.pi * u) - 0.022 * u**4
    return recipe.wall_mm * (1.0 - thinning * thin)


def throat_swelling(line: BellLine, recipe: Recipe) -> np.ndarray:
    """Normal swelling [mm] (n,) left in the throat by passes toward the tail while clamped: not elastic."""
    if not recipe.back_passes:
        return np.zeros_like(line.s)
    centre = float(line.arc_at_z(recipe.draw_end_mm)) - 12.0
    height = SWELLING_MM * (1.0 + 0.2 * (recipe.back_passes - 1))
    x = np.clip((line.s - centre) / 90.0, -0.5, 0.5)
    return height * 0.5 * (1.0 + np.cos(2.0 * np.pi * x))
