"""How strong the invented shop's metal is when a bell is let go."""

from __future__ import annotations

from math import exp

from springfit.demo.spinning.recipe import Recipe

__all__ = ["flow_stress"]

TEMPERS = ("OS015", "OS025", "OS035", "OS050", "OS070", "H01", "H02", "H04")
# Yield of the sheet as bought [MPa]. Annealed tempers and C75200: 0.5 % extension under load, as commonly
# tabulated after ASM Handbook vol. 2; rolled C26000: Copper Development Association, cold-rolled data,
# table 2; rolled C23000 and C22000: producers' sheets. The shop is invented: sizes only have to be right.
YIELD_ROWS_MPA = {
    "C26000": (150, 130, 115, 105, 95, 276, 345, 414),
    "C23000": (124, 112, 100, 83, 72, 283, 340, 393),
    "C22000": (105, 95, 86, 70, 62, 230, 325, 400),
    "C75200": (200, 185, 170, 150, 138, 345, 427, 510),
}
# No worked sheet gets past this [MPa]: near the spring tempers of producers' sheets
SATURATED_MPA = {"C26000": 560.0, "C23000": 480.0, "C22000": 440.0, "C75200": 620.0}
WORK_KEPT = {"full": 0.12, "partial": 0.5, "none": 1.0}  # share of earlier work that outlives the anneal
FORMING_STRENGTH_MPA = 55.0  # what opening the tube adds to soft sheet before the flare is spun


def flow_stress(recipe: Recipe) -> float:
    """What the worked metal carries when it is let go [MPa].

    The sheet's yield above the soft state, and the work of opening the tube, outlive the anneal in part;
    spinning then hardens toward saturation, sigma = S - (S - sigma_0) exp(-2.2 e), e the strain of the
    passes (0.05 and 0.015 each).
    """
    sheet = dict(zip(TEMPERS, YIELD_ROWS_MPA[recipe.alloy], strict=True))
    soft = sheet[recipe.temper] if recipe.temper.startswith("OS") else sheet["OS035"]
    earlier = sheet[recipe.temper] - soft + FORMING_STRENGTH_MPA
    start = soft + WORK_KEPT[recipe.anneal] * earlier
    strain = 0.05 + 0.015 * recipe.passes
    top = max(SATURATED_MPA[recipe.alloy], start)
    return top - (top - start) * exp(-2.2 * strain)
