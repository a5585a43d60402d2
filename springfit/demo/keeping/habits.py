"""What a shop uses from one batch to the next: alloys, tempers, tools, hands, and what is left blank."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from springfit.demo.spinning.recipe import Recipe

__all__ = ["People", "blanked", "drawn_recipe", "hired"]

OPTIONAL = ("temper", "lot", "draw_ring", "hump", "bolt_checked", "tool_nose_mm", "spindle_rpm", "lubricant")
# What an invented shop has at hand; sizes of the trade, rounded as its unit has them.
WALLS_MM = {"mm": (0.40, 0.45, 0.50, 0.55, 0.60), "in": (0.4064, 0.4572, 0.508, 0.5588, 0.6096)}
NOSES_MM = {"mm": (6.0, 10.0, 12.0, 20.0), "in": (6.35, 9.525, 12.7, 19.05)}


@dataclass(frozen=True)
class People:
    """Hidden factors on strength: by spinner and by lot of sheet."""

    spinners: dict[str, float]
    lots: dict[str, float]

    def factor(self, recipe: Recipe) -> float:
        """The factor of a recipe's spinner and lot; 1 for those this shop does not know."""
        return self.spinners.get(recipe.spinner, 1.0) * self.lots.get(recipe.lot, 1.0)


def hired(
    rng: np.random.Generator, spinners: tuple[str, ...], lots: tuple[str, ...], *, spread: float = 1.0
) -> People:
    """Spinners within 7 % and lots within 5 % (1 sd, times `spread`) of the usual strength."""
    hands = np.exp(0.07 * spread * rng.normal(size=len(spinners)))
    sheets = np.exp(0.05 * spread * rng.normal(size=len(lots)))
    return People(
        dict(zip(spinners, map(float, hands), strict=True)), dict(zip(lots, map(float, sheets), strict=True))
    )


def _pick(rng: np.random.Generator, options: tuple, weights: tuple[float, ...]) -> object:
    return options[int(rng.choice(len(options), p=np.array(weights) / sum(weights)))]


def drawn_recipe(
    rng: np.random.Generator, habit: Recipe, people: People, *, units: str = "mm", back_passes: int = 0
) -> Recipe:
    """One batch's conditions about a mandrel's habit: mostly 70/30 brass, annealed, half a millimetre."""
    step = 12.7 if units == "in" else 10.0
    drift = step * rng.integers(-1, 2) if habit.draw_end_mm > 0 else 0.0
    alloy = str(_pick(rng, ("C26000", "C23000", "C22000", "C75200"), (0.72, 0.16, 0.06, 0.06)))
    tempers = ("OS015", "OS025", "OS035", "OS050", "H01", "H02")
    return replace(
        habit,
        alloy=alloy,
        temper=str(_pick(rng, tempers, (0.10, 0.14, 0.44, 0.16, 0.10, 0.06))),
        lot=str(_pick(rng, tuple(people.lots), (1.0,) * len(people.lots))),
        wall_mm=float(_pick(rng, WALLS_MM[units], (0.10, 0.25, 0.40, 0.15, 0.10))),  # type: ignore[arg-type]
        anneal=str(_pick(rng, ("full", "partial", "none"), (0.70, 0.16, 0.14))),
        draw_end_mm=float(habit.draw_end_mm + drift),
        draw_ring=str(_pick(rng, ("nylon", "acetal", "lead"), (0.5, 0.3, 0.2))),
        passes=int(rng.integers(1, 5)),
        back_passes=back_passes,
        hump=str(_pick(rng, ("good", "low", "high", "none"), (0.58, 0.17, 0.17, 0.08))),
        bolt_checked=str(_pick(rng, ("yes", "no"), (0.85, 0.15))),
        tool_nose_mm=float(_pick(rng, NOSES_MM[units], (0.2, 0.4, 0.25, 0.15))),  # type: ignore[arg-type]
        spindle_rpm=int(rng.choice([800, 900, 1000, 1000, 1100])),
        lubricant=str(_pick(rng, ("soap", "tallow", "beeswax"), (0.6, 0.25, 0.15))),
        spinner=str(_pick(rng, tuple(people.spinners), (1.0,) * len(people.spinners))),
    )


def blanked(rng: np.random.Generator, row: dict, *, share: float = 0.06) -> dict:
    """The batch's row with each optional column left blank at random: unknown, not none."""
    return {name: None if name in OPTIONAL and rng.random() < share else value for name, value in row.items()}
