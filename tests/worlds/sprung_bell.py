"""A bell off its mandrel: where its inside lies, its wall, how far from round it is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .kinds.world import Springback
from .mandrel_lines import SteelLine

__all__ = ["OwnBell", "SprungBell", "normal_distance", "released"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class OwnBell:
    """What one bell does of its own: a factor on the springback, its wall over the sheet's [mm], out-of-round at the
    rim [mm per side] with its high side at an angle [rad], and how much further out than asked it was cut [mm]."""

    scale: float = 1.0
    wall: float = 0.0
    oval: float = 0.0
    oval_at: float = 0.0
    cut: float = 0.0

    @classmethod
    def drawn(cls, rng: np.random.Generator, spread: float) -> OwnBell:
        """One bell; `spread` is 1 sd of its logarithmic scale."""
        return cls(
            scale=float(np.exp(spread * rng.normal())),
            wall=0.003 * float(rng.normal()),
            oval=0.02 * abs(float(rng.normal())),
            oval_at=float(rng.uniform(0.0, np.pi)),
            cut=0.05 * float(rng.normal()),
        )


@dataclass(frozen=True, eq=False)
class SprungBell:
    """A bell with its tail matched to the steel's; arrays (n,) tail to rim [mm, rad].

    `s`, `steel_z`, `slope` where the metal lay on the steel; `z`, `r` the inside surface now; `gap` its normal distance
    from the steel at `s`; `axial` its motion; `wall`; `oval` out-of-round.
    """

    s: Array
    steel_z: Array
    slope: Array
    z: Array
    r: Array
    gap: Array
    axial: Array
    wall: Array
    oval: Array
    own: OwnBell


def released(
    line: SteelLine, back: Springback, own: OwnBell, *, wall: float, thinning: float, swollen: Array
) -> SprungBell:
    """The bell of a springback: `wall` [mm] thinned by the share `thinning` at the flare, `swollen` (n,) [mm] added."""
    part = line.part(0.0, float(back.s[-1]))
    normal, axial = own.scale * back.normal, own.scale * back.axial
    radial = (normal + axial * np.sin(part.slope)) / np.cos(part.slope)
    z = part.z + axial - swollen * np.sin(part.slope)
    r = part.r + radial + swollen * np.cos(part.slope)
    share = part.s / part.s[-1]
    thin = thinning * np.clip((share - 0.5) / 0.3, 0.0, 1.0) * (1.0 - 0.6 * np.clip((share - 0.8) / 0.2, 0.0, 1.0))
    feet, gap = normal_distance(line, z, r, part.s)
    return SprungBell(
        s=part.s, steel_z=part.z, slope=part.slope, z=z, r=r, gap=np.interp(part.s, feet, gap), axial=axial,
        wall=(wall + own.wall) * (1.0 - thin), oval=own.oval * (part.r / part.r[-1]) ** 2, own=own,
    )  # fmt: skip


def normal_distance(line: SteelLine, z: Array, r: Array, near: Array) -> tuple[Array, Array]:
    """Arcs (n,) of a line that points (z, r) lie square to, sought from the arcs `near`, and their distances (n,)."""
    s = np.clip(near, 0.0, line.s[-1])
    for _ in range(6):
        foot_z, foot_r, slope = (np.interp(s, line.s, column) for column in (line.z, line.r, line.slope))
        s = np.clip(s + (z - foot_z) * np.cos(slope) + (r - foot_r) * np.sin(slope), 0.0, line.s[-1])
    foot_z, foot_r, slope = (np.interp(s, line.s, column) for column in (line.z, line.r, line.slope))
    return s, -(z - foot_z) * np.sin(slope) + (r - foot_r) * np.cos(slope)
