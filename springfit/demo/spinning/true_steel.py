"""The invented shop's mandrels: steel as it truly is, revision by revision, and as somebody measured it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from springfit.demo.spinning.families import BellLine
from springfit.demo.spinning.recipe import Recipe

__all__ = ["Mandrel", "Steel", "measured_stations", "stations_along"]


@dataclass(frozen=True, eq=False)
class Steel:
    """One revision of a mandrel: its true line, and since when it holds."""

    revision: int
    in_force_from: str
    line: BellLine
    finish: str = "bare"
    note: str | None = None


@dataclass(frozen=True, eq=False)
class Mandrel:
    """A mandrel through its revisions, with what is usually spun on it (`habit`) and how densely it was
    measured.
    """

    mandrel_id: str
    revisions: tuple[Steel, ...]
    habit: Recipe
    step_mm: float = 6.35
    targets: tuple[str, ...] = field(default=())

    def on(self, day: str) -> Steel:
        """The revision in force on an ISO day; the first one before that."""
        held = [steel for steel in self.revisions if steel.in_force_from <= day]
        return held[-1] if held else self.revisions[0]


def stations_along(line: BellLine, *, step_mm: float = 6.35, end_radius: float | None = None) -> np.ndarray:
    """Arcs (n,) [mm] where a lathe hand takes a line: every `step_mm` of z while it is slender, then of
    diameter.

    Past 45 degrees z hardly moves, so a station is taken every `step_mm`/2 of radius instead; the last is
    the end.
    """
    end = line.length if end_radius is None else line.arc_at_radius(end_radius)
    steep = float(line.s[np.argmax(line.slope > np.pi / 4)]) if np.any(line.slope > np.pi / 4) else end
    slender = line.arc_at_z(np.arange(0.0, np.interp(min(steep, end), line.s, line.z), step_mm))
    radii = np.arange(
        np.interp(slender[-1], line.s, line.r) + step_mm / 2,
        np.interp(end, line.s, line.r) - 0.4,
        step_mm / 2,
    )
    flare = np.array([line.arc_at_radius(float(radius)) for radius in radii])
    return np.concatenate([slender, flare[flare > slender[-1] + 0.5], [end]])


def measured_stations(
    line: BellLine, rng: np.random.Generator, *, step_mm: float, error_mm: float = 0.003
) -> tuple[np.ndarray, np.ndarray]:
    """z and diameter [mm] of the steel as measured: every reading `error_mm` (1 sd, per side, along the
    normal) off.
    """
    arcs = stations_along(line, step_mm=step_mm)
    z, r, slope = line.points_at(arcs)
    off = error_mm * rng.normal(size=len(arcs))
    steep = slope > np.pi / 4
    z = z - np.where(steep, off / np.sin(slope), 0.0)
    r = r + np.where(steep, 0.0, off / np.cos(slope))
    return z, 2.0 * r
