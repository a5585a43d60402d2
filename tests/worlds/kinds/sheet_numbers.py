"""A world's metal and hands as numbers drawn by seed: flow curves by alloy, temper and anneal, and preform shapes.

Ranges are those annealed and rolled copper alloys and shop practice span; within them every number is drawn, so that
none agrees with springfit's own but by chance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..recipes import ALLOYS, HUMPS, Recipe
from ..springfit_parts import FlowCurve, bubble
from .world import Departure

__all__ = ["SheetNumbers"]

Array = NDArray[np.float64]

SKEWS = (0.6, 1.7)
HEIGHTS_MM = {"none": (0.15, 0.4), "low": (0.45, 0.9), "good": (0.9, 1.5), "high": (1.5, 2.4)}
ROLLED_STRAIN = {"H01": 0.11}


@dataclass(frozen=True)
class SheetNumbers:
    """Lengths in mm, stresses in MPa. `alloys`: modulus, strength coefficient, exponent, friction stress, Petch's k."""

    alloys: dict[str, tuple[float, float, float, float, float]]
    anneal_strain: dict[str, float]
    strain_a_pass: float  # times wall/(2 nose)
    heights: dict[str, float]
    by_rim: float  # power of rim radius over 62 mm
    skew: float
    form: str
    start_past_draw: float
    overhang: dict[str, float]
    ring_radius: dict[str, float]

    @classmethod
    def drawn(cls, rng: np.random.Generator) -> SheetNumbers:
        """Numbers of one world."""
        alloys = {}
        for name in ALLOYS:
            harder = 1.25 if name == "C75200" else 1.0
            alloys[name] = (
                float(rng.uniform(104e3, 124e3)), harder * float(rng.uniform(520.0, 820.0)),
                float(rng.uniform(0.3, 0.5)), harder * float(rng.uniform(25.0, 75.0)), float(rng.uniform(9.0, 16.0)),
            )  # fmt: skip
        opening = float(rng.uniform(5.0, 22.0))
        return cls(
            alloys=alloys,
            anneal_strain={"full": 0.0, "partial": float(rng.uniform(0.015, 0.06)),
                           "none": float(rng.uniform(0.08, 0.18))},
            strain_a_pass=float(rng.uniform(0.4, 2.5)),
            heights={hump: float(rng.uniform(*HEIGHTS_MM[hump])) for hump in HUMPS},
            by_rim=float(rng.uniform(0.0, 1.0)),
            skew=float(np.exp(rng.uniform(*np.log(SKEWS)))),
            form=str(rng.choice(["bubble", "plateau", "lean"])),
            start_past_draw=float(rng.uniform(-6.0, 8.0)),
            overhang={"none": 0.0, "low": 0.4 * opening, "good": opening,
                      "high": float(rng.uniform(0.5, 1.4)) * opening},
            ring_radius={ring: float(rng.uniform(4.0, 14.0)) for ring in ("nylon", "acetal", "lead")},
        )  # fmt: skip

    def curve(self, recipe: Recipe) -> FlowCurve:
        """Flow curve as the last pass meets the sheet: Petch by grain, then Hollomon along the strain worked in."""
        modulus, strength, exponent, friction, petch = self.alloys[recipe.alloy]
        grain = float(recipe.temper[2:]) / 1000.0 if recipe.temper.startswith("OS") else 0.03
        soft = friction + petch / np.sqrt(grain)
        strain = ROLLED_STRAIN.get(recipe.temper, 0.0) + self.anneal_strain[recipe.anneal]
        strain += self.strain_a_pass * (recipe.passes - 1) * recipe.wall_mm / (2.0 * recipe.tool_nose_mm)
        flow = strength * ((soft / strength) ** (1.0 / exponent) + strain) ** exponent
        return FlowCurve(modulus, 0.34, strength, exponent, float(min(flow, 0.98 * strength)))

    def stand_off(self, s: Array, rim: float, draw_end: float, recipe: Recipe, own: Departure) -> Array:
        """Stand-off [mm] of the preform at arcs `s`, `rim` [mm] the blank's radius, `draw_end` [mm] an arc."""
        height = self.heights[recipe.hump] * (rim / 62.0) ** self.by_rim * own.height
        start = draw_end + self.start_past_draw + own.start
        past = self.overhang[recipe.hump]
        if own.open is not None:
            past = max(self.overhang.values()) if own.open else 0.0
        end = float(s[-1]) + max(past + own.end, -8.0)
        skew = self.skew * own.skew
        if self.form == "bubble":
            return bubble(s, height=height, start=start, end=end, skew=skew)
        u = np.clip((s - start) / (end - start), 0.0, 1.0)
        if self.form == "plateau":  # up over a third, level, down over a third
            return np.asarray(height * np.sin(0.5 * np.pi * np.clip(3.0 * np.minimum(u**skew, 1 - u), 0, 1)) ** 2)
        a, b = 2.0 * skew, 2.0 / skew  # leans: a power up, a power down, 1 at its fullest
        fullest = (a / (a + b)) ** a * (b / (a + b)) ** b
        return np.asarray(height * u**a * (1.0 - u) ** b / fullest)
