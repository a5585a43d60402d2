"""The bell of a shop that has measured nothing: what a passing nose locks in, let go on the shell.

Shares of flow stress come from the closed stand-in of the laying model, for the batch's sheet, stand-off, nose and draw
end. Where bells have been measured they tell more: on records whose truth is known, fitting around this mean forecast
new bells several times worse than fitting around plain hoop stress (and the evidence said so), so it serves only here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.batch_basis import blank_rim_arc, draw_end_arc
from springfit.learning.basis.stress_basis import StressBasis
from springfit.mechanics.laying_fast import shares
from springfit.mechanics.laying.shop_words import flow_curve, stand_off
from springfit.mechanics.metal.alloys import alloy
from springfit.mechanics.shell.release import ShellOfRevolution
from springfit.records.conditions import Conditions

__all__ = ["laid_gap"]

Floats = NDArray[np.float64]

STATION_STEP = 1.0  # [mm] of arc
USUAL_NOSE_MM, USUAL_WALL_MM, USUAL_PASSES = 10.0, 0.5, 2  # where the conditions are blank


def laid_gap(mandrel: Meridian, conditions: Conditions, basis: StressBasis) -> tuple[Floats, Floats]:
    """Gap and axial motion (n,) [mm] at the stations of `basis`, tail registered.

    Raises UnknownAlloyError for an alloy that is not in the table, ValueError for a word the shop's words do not have.
    """
    metal, wall = alloy(conditions.alloy), conditions.wall_mm or USUAL_WALL_MM
    nose, passes = conditions.tool_nose_mm or USUAL_NOSE_MM, conditions.passes or USUAL_PASSES
    draw_end, blank = draw_end_arc(mandrel, conditions), blank_rim_arc(mandrel, conditions)
    whole = mandrel.at(np.linspace(0.0, blank, int(blank / STATION_STEP) + 2))
    curve = flow_curve(
        metal, temper=conditions.temper, anneal=conditions.anneal, passes=passes, wall=wall, nose_radius=nose
    )
    off = stand_off(whole.s, rim_radius=float(whole.r[-1]), draw_end=draw_end, hump=conditions.hump)
    laid = shares(
        whole.s, whole.r, whole.slope, whole.curvature,
        wall=wall, flow_stress=curve.yield_strength, youngs_modulus=metal.youngs_modulus,
        nose_radius=nose, stand_off=off, draw_end=draw_end,
    )  # fmt: skip
    hoop, pull, turned = (
        np.interp(basis.arc, whole.s, np.asarray(k)) for k in (laid.hoop, laid.meridional, laid.moment)
    )
    part, force = mandrel.at(basis.arc), curve.yield_strength * wall
    shell = ShellOfRevolution.on_inner_surface(
        part.s, part.z, part.r, part.slope,
        wall=wall, youngs_modulus=metal.youngs_modulus, poisson_ratio=metal.poisson_ratio,
    )  # fmt: skip
    bending = turned * force * wall / 4
    released = shell.release(
        n_theta=-hoop * force, n_s=pull * force, m_s=bending, m_theta=metal.poisson_ratio * bending
    )
    return released.normal, released.axial
