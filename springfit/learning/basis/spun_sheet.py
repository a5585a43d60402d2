"""The sheet of one batch on its steel: where drawing stopped, where rims and beads are, how strong it is once worked.

What a record leaves blank gets the shop's usual value here (drawn to two thirds of the arc, cut where the steel
ends); how much that may be wrong is the forecast's business.
"""

from __future__ import annotations

import numpy as np

from springfit.geometry.meridian import Meridian
from springfit.mechanics.metal.alloys import Alloy
from springfit.mechanics.metal.hardening import flow_stress
from springfit.records.conditions import Conditions

__all__ = ["BEAD_ON_DIAMETER_MM", "bead_arc", "blank_rim_arc", "draw_end_arc", "sheet_flow_stress", "stage_rim_arc"]

# [-] equivalent strain of a spun bell's wall, a scale for the shares and no prediction: finite-element bells have 0.04
# to 0.12 in the mean of the wall (`hardening.MET_AT`)
WORKED_STRAIN = 0.1
USUAL_DRAWN_PART = 2.0 / 3.0  # of the arc, where the record is blank; common practice, no source
# Of sheet left for a bead, on diameter: half an inch; a little less has served (common practice, no source)
BEAD_ON_DIAMETER_MM = 12.7


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


def bead_arc(meridian: Meridian, rim_arc: float) -> float:
    """Arc [mm] from which on the metal of a bell that ends at `rim_arc` goes into its bead: what is left for one is
    said on diameter, and along a slope is longer."""
    rim = float(np.interp(rim_arc, meridian.s, meridian.r))
    return float(meridian.arc_reaching(rim - BEAD_ON_DIAMETER_MM / 2.0))


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
    return float(meridian.arc_reaching(diameter / 2.0))
