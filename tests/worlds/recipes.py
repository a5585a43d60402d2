"""How batches are spun: recipes drawn about a mandrel's habit, as a record book's `batches` table has them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from .mandrels import Mandrel

__all__ = ["CONDITION_COLUMNS", "Recipe", "drawn_recipe", "redone"]

# Shares of use in an ordinary shop of cartridge brass with some red brass and a little nickel silver; assumed.
ALLOYS = {"C26000": 0.6, "C23000": 0.18, "C22000": 0.12, "C75200": 0.1}
TEMPERS = {"OS015": 0.15, "OS025": 0.15, "OS035": 0.35, "OS050": 0.25, "H01": 0.1}
ANNEALS = {"full": 0.75, "partial": 0.15, "none": 0.1}
HUMPS = {"none": 0.07, "low": 0.2, "good": 0.53, "high": 0.2}
RINGS = {"nylon": 0.6, "acetal": 0.25, "lead": 0.15}
NOSES = (5.0, 6.5, 8.0, 9.5, 12.0, 16.0)
CONDITION_COLUMNS = (
    "alloy", "temper", "wall_mm", "anneal", "draw_end_mm", "draw_ring", "passes", "back_passes", "hump", "tool_nose_mm",
    "spindle_rpm", "lubricant", "spinner", "blank_rim_mm", "finished_rim_mm",
)  # fmt: skip


@dataclass(frozen=True)
class Recipe:
    """What the shop writes down of a batch; lengths in mm, rims as diameters, `draw_end_mm` an axial station."""

    alloy: str
    temper: str
    wall_mm: float
    anneal: str
    draw_end_mm: float
    draw_ring: str
    passes: int
    back_passes: int
    hump: str
    tool_nose_mm: float
    spindle_rpm: int
    lubricant: str
    spinner: str
    blank_rim_mm: float
    finished_rim_mm: float


def drawn_recipe(rng: np.random.Generator, mandrel: Mandrel, *, spinners: tuple[str, ...]) -> Recipe:
    """A recipe for a mandrel, without back passes."""

    def word(shares: dict[str, float]) -> str:
        return str(rng.choice(list(shares), p=list(shares.values())))

    return Recipe(
        alloy=word(ALLOYS),
        temper=word(TEMPERS),
        wall_mm=float(rng.choice([0.4, 0.45, 0.5, 0.55, 0.6], p=[0.1, 0.2, 0.4, 0.2, 0.1])),
        anneal=word(ANNEALS),
        draw_end_mm=float(np.round(mandrel.usual_draw_end * rng.uniform(0.93, 1.07), 1)),
        draw_ring=word(RINGS),
        passes=int(rng.integers(1, 5)),
        back_passes=0,
        hump=word(HUMPS),
        tool_nose_mm=float(rng.choice(NOSES)),
        spindle_rpm=int(rng.choice([700, 850, 1000, 1150])),
        lubricant=str(rng.choice(["tallow", "soap"])),
        spinner=str(rng.choice(spinners)),
        blank_rim_mm=mandrel.blank_rim,
        finished_rim_mm=mandrel.finished_rim,
    )


def redone(rng: np.random.Generator, recipe: Recipe, *, spinners: tuple[str, ...]) -> Recipe:
    """The same again by whoever is there: nothing that the metal feels is changed."""
    return replace(
        recipe, spinner=str(rng.choice(spinners)), spindle_rpm=int(rng.choice([700, 850, 1000, 1150]))
    )
