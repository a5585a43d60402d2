"""Worlds where what is locked in is a closed form of the place on the bell, let go by a linear shell: `shares`."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..mandrel_lines import SteelLine, bessel
from ..recipes import Recipe
from ..springfit_parts import ShellOfRevolution
from .sheet_numbers import SheetNumbers
from .world import Departure, Springback

__all__ = ["SharesWorld"]

Array = NDArray[np.float64]

STATION_MM = 1.0
STEP_WIDTH_MM = 3.0  # over which the drawn part passes into the spun
ROUNDS = 4  # of finding the size: yield bends what a size does
OVERLAP_MM = 9.0  # 1 sd of what ring and nose both worked
# Size of springback of an ordinary bell over its flare: about half to all of what ordinary shops' bells show (0.1 mm).
ORDINARY_RMS_MM = (0.04, 0.12)
SPREADS = {"scale": 0.05, "hoop": 0.12, "meridional": 0.2, "moment": 0.2}  # of a batch, 1 sd of logarithms
# What a sheet can hold: yield stops a share at 2/sqrt(3) (plane strain; von Mises); an ordinary bell stays below 1.
# Along the bell the sheet's ends are free, so that only friction under its own grip holds a pull before it is let go:
# some hundredths of flow stress.
MOST, ORDINARY_MOST = 1.15, 1.0
# Ranges of the coefficients of each share: constant, sin(slope), place in the spun part, curvature, free edge.
HOOP = ((0.1, 0.6), (-0.4, 0.6), (-0.5, 0.5), (-0.5, 0.5), (-0.5, 0.5))
MERIDIONAL = ((-0.03, 0.06), (-0.04, 0.04), (-0.04, 0.04), (-0.04, 0.04), (-0.04, 0.02))
ALONG_ENDS = {"drawn": 0.05, "overlap": 0.05}  # largest meridional share where drawn, and at the end of the draw
MOMENT = ((-0.5, 0.6), (-0.5, 0.5), (-0.3, 0.3), (-0.8, 0.8), (-0.4, 0.4))
# Powers of wall, nose and passes, and logarithmic steps by hump and anneal.
BY_RECIPE = {"wall": 0.7, "nose": 0.5, "passes": 0.4, "hump": 0.3, "anneal": 0.25}


@dataclass(frozen=True)
class Share:
    """One share of flow stress: `terms` of its place, the logarithmic `powers` of the recipe, and its value where drawn
    by ring (`drawn`) and, as a bump, at the end of the draw (`overlap`)."""

    terms: tuple[float, ...]
    powers: dict[str, float]
    drawn: dict[str, float]
    overlap: float

    @classmethod
    def drawn_by(
        cls,
        rng: np.random.Generator,
        ranges: tuple[tuple[float, float], ...],
        drawn: float = 0.15,
        overlap: float = 0.2,
    ) -> Share:
        """A share's numbers by seed."""
        return cls(
            tuple(float(rng.uniform(*bounds)) for bounds in ranges),
            {name: size * float(rng.normal()) for name, size in BY_RECIPE.items()},
            {ring: float(rng.uniform(-drawn, drawn)) for ring in ("nylon", "acetal", "lead")},
            float(rng.uniform(-overlap, overlap)),
        )

    def at(self, place: _Place, recipe: Recipe, size: float) -> Array:
        """The share (n,) along the bell, of a world of `size`, held within yield."""
        steps = {
            "wall": np.log(recipe.wall_mm / 0.5),
            "nose": np.log(recipe.tool_nose_mm / 9.0),
            "passes": np.log(recipe.passes / 2.0),
            "hump": {"none": -1.5, "low": -0.7, "good": 0.0, "high": 1.0}[recipe.hump],
            "anneal": {"full": 0.0, "partial": 0.7, "none": 1.5}[recipe.anneal],
        }
        factor = np.exp(sum(self.powers[name] * step for name, step in steps.items()))
        spun = factor * (place.features @ np.array(self.terms))
        value = place.spun * spun + (1.0 - place.spun) * self.drawn[recipe.draw_ring]
        return np.asarray(MOST * np.tanh(size * (value + self.overlap * place.overlap) / MOST))


@dataclass(frozen=True, eq=False)
class _Place:
    """Where stations lie: `spun` 0 to 1, `overlap` 0 to 1, `features` (n, 5) that the shares are sums of."""

    spun: Array
    overlap: Array
    features: Array

    @classmethod
    def of(cls, part: SteelLine, draw_end: float, blank: float, wall: float) -> _Place:
        u = (part.s - draw_end) / STEP_WIDTH_MM
        length = np.sqrt(part.r * wall)
        along = np.clip((part.s - draw_end) / (blank - draw_end), 0.0, 1.0)
        features = (
            np.ones_like(u), np.sin(part.slope), along - 0.5, part.curvature * 20.0,
            np.exp(-(blank - part.s) / (3.0 * length)),
        )  # fmt: skip
        overlap = np.exp(-0.5 * ((part.s - draw_end) / OVERLAP_MM) ** 2)
        return cls(0.5 * (1.0 + np.tanh(u)), overlap, np.column_stack(features))


@dataclass(frozen=True)
class SharesWorld:
    """`metal` gives flow stress, the shares what part of it stays; `turned` is M_theta over M_s."""

    metal: SheetNumbers
    hoop: Share
    meridional: Share
    moment: Share
    turned: float
    size: float

    @classmethod
    def drawn(cls, rng: np.random.Generator) -> SharesWorld:
        """A world by seed: an ordinary bell springs by an ordinary amount, and holds no more than sheet can."""
        line = bessel(tail=6.0, rim=72.0, length=390.0, exponent=0.7)
        recipe = Recipe(
            "C26000", "OS035", 0.5, "full", float(np.interp(15.0, line.r, line.z)), "nylon", 2, 0, "good", 9.5, 850,
            "soap", "P1", 144.0, 122.0,
        )  # fmt: skip
        while True:
            world = cls(
                SheetNumbers.drawn(rng), Share.drawn_by(rng, HOOP), Share.drawn_by(rng, MERIDIONAL, **ALONG_ENDS),
                Share.drawn_by(rng, MOMENT), float(rng.uniform(0.2, 0.6)), 1.0,
            )  # fmt: skip
            wanted = float(np.exp(rng.uniform(*np.log(ORDINARY_RMS_MM))))
            for _ in range(ROUNDS):
                normal = world.springback(line, recipe, Departure(), trimmed=True).normal
                flare = normal[int(0.6 * len(normal)) :]
                world = replace(world, size=world.size * wanted / float(np.sqrt(np.mean(flare**2))))
            if world.most(line, recipe) <= ORDINARY_MOST:
                return world

    def most(self, line: SteelLine, recipe: Recipe) -> float:
        """The largest share of hoop and moment on one bell."""
        blank = line.arc_at_radius(recipe.blank_rim_mm / 2.0)
        place = _Place.of(line.part(0.0, blank), line.arc_at_z(recipe.draw_end_mm), blank, recipe.wall_mm)
        return max(float(np.abs(share.at(place, recipe, self.size)).max()) for share in (self.hoop, self.moment))

    def departure(self, rng: np.random.Generator, spinner: str) -> Departure:
        """Factors on the three shares and on the whole."""
        return Departure(**{name: float(np.exp(sd * rng.normal())) for name, sd in SPREADS.items()})

    def usual(self, spinner: str) -> tuple[Departure, ...]:
        """The means of those factors: all is linear in them."""
        return (Departure(**{name: float(np.exp(0.5 * sd**2)) for name, sd in SPREADS.items()}),)

    def springback(
        self, line: SteelLine, recipe: Recipe, departure: Departure, *, trimmed: bool
    ) -> Springback:
        """The linear release of the three shares on the part that is there."""
        blank = line.arc_at_radius(recipe.blank_rim_mm / 2.0)
        end = line.arc_at_radius(recipe.finished_rim_mm / 2.0) if trimmed else blank
        part = line.part(0.0, end)
        few = np.unique(np.r_[np.arange(0, len(part.s), round(STATION_MM / (part.s[1] - part.s[0]))), len(part.s) - 1])
        coarse = SteelLine(*(column[few] for column in (part.s, part.z, part.r, part.slope, part.curvature)))
        place = _Place.of(coarse, line.arc_at_z(recipe.draw_end_mm), blank, recipe.wall_mm)
        curve = self.metal.curve(recipe)
        force = curve.yield_strength * recipe.wall_mm * departure.scale
        bending = departure.moment * self.moment.at(place, recipe, self.size) * force * recipe.wall_mm / 4.0
        shell = ShellOfRevolution.on_inner_surface(
            coarse.s, coarse.z, coarse.r, coarse.slope,
            wall=recipe.wall_mm, youngs_modulus=curve.youngs_modulus, poisson_ratio=curve.poisson_ratio,
        )  # fmt: skip
        freed = shell.release(
            n_s=departure.meridional * self.meridional.at(place, recipe, 1.0) * force,
            n_theta=-departure.hoop * self.hoop.at(place, recipe, self.size) * force,
            m_s=bending, m_theta=self.turned * bending,
        )  # fmt: skip
        normal, axial = (np.interp(part.s, coarse.s, column) for column in (freed.normal, freed.axial))
        return Springback(part.s, normal, axial)
