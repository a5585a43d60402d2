"""Worlds where the sheet is laid by a travelling nose and let go with large motions: `laid` and `standoff`."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from joblib import Memory
from scipy.special import ndtri
from scipy.stats import qmc

from ..mandrel_lines import SteelLine
from ..recipes import Recipe
from ..springfit_parts import Laid, LayingCase, lay
from .sheet_numbers import SheetNumbers
from .world import Departure, Springback

__all__ = ["LaidWorld"]

DRAWN_MM = 40.0  # of drawn part that is worked out; further in the sheet lies on the steel and little springs
LOWER = 0.7  # where the sheet buckles it is laid again from a lower stand-off
MOST_TRIES = 5
OPEN = 0.6  # of batches whose rim stands off, where they differ in shape
POWER_OF_USUAL, EVENLY = 4, 1  # sixteen stand-offs for all


@dataclass(frozen=True)
class LaidWorld:
    """`batches_differ` in "size" (the springback is scaled) or "shape" (the sheet stands off in another way).

    `spread`: 1 sd of a batch's logarithmic scale. `habits`: how each spinner's sheet stands off. `cache`: folder of
    finished runs.
    """

    numbers: SheetNumbers
    batches_differ: str
    spread: float
    habits: dict[str, Departure]
    cache: Path

    @classmethod
    def drawn(
        cls, rng: np.random.Generator, *, batches_differ: str, spinners: tuple[str, ...], cache: Path
    ) -> LaidWorld:
        """A world's numbers by seed."""
        numbers, spread = SheetNumbers.drawn(rng), float(rng.uniform(0.10, 0.15))
        habits = {
            name: Departure(
                height=float(np.exp(0.2 * rng.normal())),
                start=4.0 * float(rng.normal()),
                skew=float(np.exp(0.2 * rng.normal())),
            )
            for name in spinners
        }
        return cls(numbers, batches_differ, spread, habits, cache)

    def departure(self, rng: np.random.Generator, spinner: str) -> Departure:
        """A factor on the springback, or another stand-off: 35 % in height, 6 and 8 mm at its ends, 30 % in skew."""
        if self.batches_differ == "size":
            return Departure(scale=float(np.exp(self.spread * rng.normal())))
        scale, height, start, end, skew = rng.normal(size=5)
        return self._standing_off(self.habits[spinner], scale, height, start, end, skew, rng.random() < OPEN)

    def usual(self, spinner: str) -> tuple[Departure, ...]:
        """The mean size, or stand-offs spread evenly over all that a spinner's batches do."""
        if self.batches_differ == "size":
            return (Departure(scale=float(np.exp(0.5 * self.spread**2))),)
        even = qmc.Sobol(6, seed=EVENLY).random_base2(POWER_OF_USUAL)
        return tuple(
            self._standing_off(self.habits[spinner], *ndtri(row[:5]), row[5] < OPEN) for row in even
        )

    def _standing_off(
        self, habit: Departure, scale: float, height: float, start: float, end: float, skew: float, is_open: bool
    ) -> Departure:
        """A batch that stands off by so many standard deviations from its spinner's habit."""
        return Departure(
            scale=float(np.exp(0.03 * scale)),
            height=habit.height * float(np.exp(0.35 * height)),
            start=habit.start + 6.0 * float(start),
            end=8.0 * float(end),
            skew=habit.skew * float(np.exp(0.3 * skew)),
            open=bool(is_open),
        )

    def springback(
        self, line: SteelLine, recipe: Recipe, departure: Departure, *, trimmed: bool
    ) -> Springback:
        """What a run on the part from a little before the end of the draw gives, nothing further in."""
        draw_end = line.arc_at_z(recipe.draw_end_mm)
        whole = line.part(draw_end - DRAWN_MM, line.arc_at_radius(recipe.blank_rim_mm / 2.0))
        cut = line.arc_at_radius(recipe.finished_rim_mm / 2.0)
        laid = self._laid(whole, draw_end, recipe, departure, trim_at=cut if trimmed else None)
        s = line.part(0.0, cut if trimmed else float(whole.s[-1])).s
        into = np.clip((s - whole.s[0]) / 6.0, 0.0, 1.0)
        fade = into**2 * (3.0 - 2.0 * into)  # the cut at the start of the run is none of the bell's
        normal, axial = (np.interp(s, laid.s, column) for column in (laid.gap, laid.axial - laid.axial[0]))
        return Springback(s, departure.scale * fade * normal, departure.scale * fade * axial)

    def _laid(
        self, whole: SteelLine, draw_end: float, recipe: Recipe, own: Departure, *, trim_at: float | None
    ) -> Laid:
        run = Memory(self.cache, verbose=0).cache(lay)
        off = self.numbers.stand_off(whole.s, float(whole.r[-1]), draw_end, recipe, own)
        for _ in range(MOST_TRIES):
            case = LayingCase(
                whole.s, whole.z, whole.r, whole.slope, off, recipe.wall_mm, self.numbers.curve(recipe),
                recipe.tool_nose_mm, draw_end, self.numbers.ring_radius[recipe.draw_ring],
            )  # fmt: skip
            try:
                return run(case, trim_at=trim_at)
            except RuntimeError:  # equilibrium lost: the sheet buckled
                off = LOWER * off
        raise ArithmeticError(f"laid world: the sheet buckles at every stand-off tried on {recipe}")
