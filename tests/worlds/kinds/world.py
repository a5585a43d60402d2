"""What the kinds of world share: how a batch and a bell depart from what is written down, and what springs back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from ..mandrel_lines import SteelLine
from ..recipes import Recipe

__all__ = ["Departure", "Springback", "World", "lasting", "swelling"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Departure:
    """How a batch departs from its recipe, nothing of which stands in the book; a kind reads what it knows of.

    `scale`: factor on the whole springback. `hoop`, `meridional`, `moment`: factors on the locked-in stresses.
    `height`: factor on the stand-off; `start`, `end` [mm] move its two ends; `skew`: factor on its skew; `open`:
    whether the rim stands off (None: as the hump says).
    """

    scale: float = 1.0
    hoop: float = 1.0
    meridional: float = 1.0
    moment: float = 1.0
    height: float = 1.0
    start: float = 0.0
    end: float = 0.0
    skew: float = 1.0
    open: bool | None = None


@dataclass(frozen=True, eq=False)
class Springback:
    """How the inside surface moves off the steel at arcs `s` (n,): `normal` and `axial` [mm], the tail held."""

    s: Array
    normal: Array
    axial: Array


class World(Protocol):
    """A physics of spinning."""

    def departure(self, rng: np.random.Generator, spinner: str) -> Departure:
        """What one batch of a spinner's does of its own."""

    def usual(self, spinner: str) -> tuple[Departure, ...]:
        """Departures that stand for all batches of a spinner's, each as likely as the next."""

    def springback(
        self, line: SteelLine, recipe: Recipe, departure: Departure, *, trimmed: bool
    ) -> Springback:
        """What springs back on a line, cut to the finished rim or not yet."""


def lasting(world: World, line: SteelLine, recipe: Recipe) -> Springback:
    """The mean over all batches of a recipe, cut to the finished rim: what a forecast states and no batch takes away.

    It is not what no departure gives: a rim that stands off in some batches and lies on the steel in others springs on
    the mean by neither.
    """
    backs = [world.springback(line, recipe, one, trimmed=True) for one in world.usual(recipe.spinner)]
    return Springback(
        backs[0].s, np.mean([back.normal for back in backs], axis=0), np.mean([back.axial for back in backs], axis=0)
    )


def swelling(line: SteelLine, recipe: Recipe, size: float) -> Array:
    """Normal swelling [mm] (n,) that passes toward the tail leave past the end of the draw; `size` that of one pass."""
    if not recipe.back_passes:
        return np.zeros_like(line.s)
    x = (line.s - line.arc_at_z(recipe.draw_end_mm) - 8.0) / 14.0
    return np.asarray(size * (1.0 + 0.15 * (recipe.back_passes - 1)) * np.exp(-0.5 * x**2))
