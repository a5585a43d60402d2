"""The basis of one batch: its meridian, sheet and tool turned into fields of flow stress on a shell.

What a record leaves blank gets the shop's usual value here (drawn to two thirds of the arc, cut where the steel
ends); how much that may be wrong is the forecast's business.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.stress_basis import FIELDS, StressBasis, stress_basis
from springfit.learning.features.batch_features import tool_nose
from springfit.mechanics.metal.alloys import Alloy, alloy
from springfit.mechanics.metal.hardening import flow_stress
from springfit.records.conditions import Conditions

__all__ = ["USUAL_WALL_MM", "batch_basis", "blank_rim_arc", "draw_end_arc", "sheet_flow_stress", "stage_rim_arc"]

Floats = NDArray[np.float64]

WORKED_STRAIN = 0.1  # [-] equivalent strain of a spun bell's wall; a scale for the shares, not a prediction
USUAL_DRAWN_PART = 2.0 / 3.0  # of the arc, where the record is blank; common practice, no source
USUAL_WALL_MM = 0.5
_BY_NOSE = np.array([field.by_nose for field in FIELDS])


def batch_basis(
    meridian: Meridian, conditions: Conditions, *, stage: str = "trimmed", wall: float | None = None
) -> StressBasis:
    """Fields and their release for a bell spun on `meridian` under `conditions`, at `stage`.

    `stage` "spun" ends at the blank rim, every other at the finished rim. `wall` [mm] replaces the stated one.
    Raises UnknownAlloyError for an alloy that is not in the table.
    """
    metal = alloy(conditions.alloy)
    basis = stress_basis(
        meridian,
        rim_arc=stage_rim_arc(meridian, conditions, stage),
        blank_rim_arc=blank_rim_arc(meridian, conditions),
        draw_end=draw_end_arc(meridian, conditions),
        wall=wall or conditions.wall_mm or USUAL_WALL_MM,
        flow_stress=sheet_flow_stress(metal, conditions),
        youngs_modulus=metal.youngs_modulus,
        poisson_ratio=metal.poisson_ratio,
    )
    scale = np.where(_BY_NOSE, np.nan_to_num(tool_nose(conditions)), 1.0)
    return replace(
        basis, shares=basis.shares * scale, normal=basis.normal * scale,
        axial=basis.axial * scale, tangential=basis.tangential * scale,
    )  # fmt: skip


def sheet_flow_stress(metal: Alloy, conditions: Conditions) -> float:
    """Flow stress [MPa] of the batch's sheet once worked, the unit of the shares."""
    stress = flow_stress(metal, temper=conditions.temper, anneal=conditions.anneal, strain=WORKED_STRAIN)
    return float(stress.value)


def blank_rim_arc(meridian: Meridian, conditions: Conditions) -> float:
    """Arc [mm] of the rim before trimming: where the steel has the blank rim's diameter, at most its end."""
    return _arc_of_diameter(meridian, conditions.blank_rim_mm)


def stage_rim_arc(meridian: Meridian, conditions: Conditions, stage: str) -> float:
    """Arc [mm] of the rim at a stage; a finished rim left blank is taken as the blank rim."""
    blank = blank_rim_arc(meridian, conditions)
    if stage == "spun" or conditions.finished_rim_mm is None:
        return blank
    return min(blank, _arc_of_diameter(meridian, conditions.finished_rim_mm))


def draw_end_arc(meridian: Meridian, conditions: Conditions) -> float:
    """Arc [mm] where drawing stopped, from its axial station; 0 where nothing was drawn."""
    if conditions.draw_end_mm is None:
        return USUAL_DRAWN_PART * blank_rim_arc(meridian, conditions)
    if conditions.draw_end_mm <= 0:
        return 0.0
    return float(np.interp(conditions.draw_end_mm, meridian.z, meridian.s))


def _arc_of_diameter(meridian: Meridian, diameter: float | None) -> float:
    if diameter is None:
        return meridian.length
    return float(np.interp(diameter / 2.0, np.maximum.accumulate(meridian.r), meridian.s))
