"""Batches and bells as they come off the steel: release, departures of batch and bell, process faults."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from scipy.interpolate import CubicSpline

from springfit.demo.spinning.families import BellLine
from springfit.demo.spinning.process import locked_in, throat_swelling, wall_along
from springfit.demo.spinning.recipe import Recipe
from springfit.demo.spinning.solid import LockedStress, Movement, Solid

__all__ = ["BatchEffects", "BellEffects", "Press", "Pressing", "SpunBell"]

WALL_STEP_MM = 0.05  # walls within half a step share one solid: locked-in stress is per area of wall


@dataclass(frozen=True)
class BatchEffects:
    """How one batch departs from its conditions: factors on the four stresses, and what no sheet says."""

    strength: float = 1.0
    hoop: float = 1.0
    tilt: float = 0.0  # hoop stronger toward the rim by this share, weaker toward the draw
    meridional: float = 1.0
    bending: float = 1.0
    swelling: float = 1.0
    thinning: float = 1.0
    draw_shift_mm: float = 0.0
    sheet_mm: float = 0.0  # true sheet less the wall written down

    @classmethod
    def drawn(cls, rng: np.random.Generator, *, spread: float = 1.0) -> BatchEffects:
        """A batch at random; `spread` scales the usual scatter (strength 9 %, hoop 8 %, tilt 8 % ...)."""
        draw = rng.normal(size=9) * spread
        return cls(
            strength=float(np.exp(0.09 * draw[0])),
            hoop=float(np.exp(0.08 * draw[1])),
            tilt=0.08 * float(draw[2]),
            meridional=float(np.exp(0.15 * draw[3])),
            bending=float(np.exp(0.12 * draw[4])),
            swelling=float(np.exp(0.12 * draw[5])),
            thinning=float(np.exp(0.25 * draw[6])),
            draw_shift_mm=2.5 * float(draw[7]),
            sheet_mm=0.004 * float(draw[8]),
        )


@dataclass(frozen=True)
class BellEffects:
    """How one bell departs from its batch: factors, and out-of-round `oval` at the rim [mm per side].

    The out-of-round has two lobes, the high side `oval_at` [rad] from the seam.
    """

    strength: float = 1.0
    tilt: float = 0.0
    swelling: float = 1.0
    wall: float = 1.0
    trim_mm: float = 0.0
    oval: float = 0.0
    oval_at: float = 0.0

    @classmethod
    def drawn(cls, rng: np.random.Generator, *, spread: float = 1.0, oval_mm: float = 0.025) -> BellEffects:
        """A bell at random; `spread` scales the usual scatter (strength 5 %, tilt 5 %, swelling 8 % ...)."""
        draw = rng.normal(size=6) * spread
        return cls(
            strength=float(np.exp(0.05 * draw[0])),
            tilt=0.05 * float(draw[1]),
            swelling=float(np.exp(0.08 * draw[2])),
            wall=float(1.0 + 0.005 * draw[3]),
            trim_mm=0.06 * float(draw[4]),
            oval=abs(float(draw[5])) * oval_mm,
            oval_at=float(rng.uniform(0.0, np.pi)),
        )


@dataclass(frozen=True, eq=False)
class SpunBell:
    """A released bell, tail ends matched: its inside line and, at its stations, what it was on the steel.

    `arc`, `steel_z`, `slope` belong to the steel; `z`, `r` are where the inside surface now lies [mm];
    `gap` and `axial` [mm] how it moved; `wall` [mm]; `oval` (n,) [mm per side] the two-lobed out-of-round
    with its high side at `oval_at` [rad]; `trim_mm` how much longer than asked its rim was cut.
    """

    arc: np.ndarray
    steel_z: np.ndarray
    slope: np.ndarray
    z: np.ndarray
    r: np.ndarray
    gap: np.ndarray
    axial: np.ndarray
    wall: np.ndarray
    oval: np.ndarray
    oval_at: float = 0.0
    trim_mm: float = 0.0


@dataclass(frozen=True, eq=False)
class Pressing:
    """One batch's release on one line at one stage: movements (n, 4) of the four stresses, not yet summed."""

    line: BellLine
    movement: Movement
    swelling: np.ndarray
    wall: np.ndarray

    def _sum(self, values: np.ndarray, batch: BatchEffects, bell: BellEffects) -> np.ndarray:
        hoop = batch.strength * batch.hoop * bell.strength
        rest = batch.strength * bell.strength
        weights = [hoop, hoop * (batch.tilt + bell.tilt), rest * batch.meridional, rest * batch.bending]
        return np.asarray(values @ np.array(weights))

    def gap(self, batch: BatchEffects, bell: BellEffects) -> np.ndarray:
        """Normal gap (n,) [mm] of one bell at the pressing's stations, tail ends matched."""
        return self._sum(self.movement.normal, batch, bell) + batch.swelling * bell.swelling * self.swelling

    def axial(self, batch: BatchEffects, bell: BellEffects) -> np.ndarray:
        """Motion along the axis (n,) [mm] of the same points."""
        slope = np.interp(self.movement.s, self.line.s, self.line.slope)
        along = self._sum(self.movement.tangential, batch, bell)
        return np.cos(slope) * along - np.sin(slope) * self.gap(batch, bell)

    def bell(self, batch: BatchEffects, bell: BellEffects) -> SpunBell:
        """One bell, its curves refined to 0.25 mm of arc."""
        s = np.linspace(0.0, self.line.length, int(self.line.length / 0.25) + 2)
        z, r, slope = self.line.points_at(s)
        gap = _refined(self.movement.s, self.gap(batch, bell), s)
        axial = _refined(self.movement.s, self.axial(batch, bell), s)
        tangential = (axial + np.sin(slope) * gap) / np.cos(slope)
        radial = np.sin(slope) * tangential + np.cos(slope) * gap
        wall = _refined(self.movement.s, self.wall, s) * bell.wall
        oval = bell.oval * (s / self.line.length) ** 4
        return SpunBell(
            s, z, slope, z + axial, r + radial, gap, axial, wall, oval, bell.oval_at, bell.trim_mm
        )


def _refined(at: np.ndarray, values: np.ndarray, s: np.ndarray) -> np.ndarray:
    return np.asarray(CubicSpline(at, values)(s))


@dataclass
class Press:
    """Presses batches on lines, keeping every solid it has factored for the next batch on the same steel."""

    spring: float = 1.0  # scales every locked-in stress; 0 gives metal that does not spring back
    shelf: dict[tuple[int, float, float], tuple[BellLine, Solid]] = field(default_factory=dict)

    def press(
        self, line: BellLine, recipe: Recipe, batch: BatchEffects, *, stage: str = "trimmed"
    ) -> Pressing:
        """The release of `recipe` on `line`, cut at the blank's edge (spun) or the finished rim (trimmed)."""
        edge = min(recipe.blank_rim_mm / 2.0, float(line.r[-1]))  # no steel, no bell
        blank = line.cut_at(line.arc_at_radius(edge))
        end = blank.length if stage == "spun" else blank.arc_at_radius(recipe.finished_rim_mm / 2.0)
        solid = self._solid(line, blank, recipe, end)
        stress = locked_in(blank, recipe, draw_shift_mm=batch.draw_shift_mm)
        part = _stress_on(solid.line, blank, stress)
        movement = solid.release(LockedStress(*(self.spring * f for f in part)))
        sheet = replace(recipe, wall_mm=recipe.wall_mm + batch.sheet_mm)
        wall = np.interp(movement.s, blank.s, wall_along(blank, sheet, thinning=batch.thinning))
        swelling = np.interp(movement.s, blank.s, throat_swelling(blank, recipe))
        return Pressing(solid.line, movement, swelling, wall)

    def _solid(self, line: BellLine, blank: BellLine, recipe: Recipe, end: float) -> Solid:
        wall = WALL_STEP_MM * round(recipe.wall_mm / WALL_STEP_MM)
        key = (id(line), wall, round(end, 3))
        if key not in self.shelf:
            cut = blank.cut_at(end)
            profile = np.interp(cut.s, blank.s, wall_along(blank, replace(recipe, wall_mm=wall)))
            self.shelf[key] = (line, Solid(cut, profile))
        return self.shelf[key][1]


def _stress_on(cut: BellLine, blank: BellLine, stress: LockedStress) -> list[np.ndarray]:
    fields = (stress.meridional, stress.hoop, stress.bending, stress.hoop_bending)
    return [np.column_stack([np.interp(cut.s, blank.s, column) for column in f.T]) for f in fields]
