"""A shop's mandrels, drawn by seed: families, rims of 90 to 250 mm, facets on some, a plating half-way on some."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .mandrel_lines import SteelLine, bessel, exponential, faceted, rolled

__all__ = ["Mandrel", "drawn_mandrels"]

NAMES = ("ASH", "BEECH", "COB", "DAMSON", "ELDER", "GORSE", "HOLLY", "IVY", "JUNIPER", "LIME")
STEEPEST, FLATTEST = 1.36, 0.75  # slope at the blank's rim [rad]; past it the linear shell and hands fail
TIGHTEST_MM = 16.0  # radius of the flare's tightest turn, twice a usual nose
SPUN_MM = (110.0, 160.0)  # most that is spun, of arc, as in the sample shops; a run costs in proportion
FIRST_DAY = "2024-02-01"


@dataclass(frozen=True, eq=False)
class Mandrel:
    """A mandrel: its true line to the blank's rim, the rims [mm diameter] spun on it, and where drawing usually ends.

    `plated_from`: ISO day from which it is plated by `plating` [mm per side], None when it never is.
    """

    mandrel_id: str
    line: SteelLine
    blank_rim: float
    finished_rim: float
    usual_draw_end: float
    plated_from: str | None = None
    plating: float = 0.0
    faceted: bool = False


def drawn_mandrels(rng: np.random.Generator, count: int) -> list[Mandrel]:
    """`count` mandrels; at most one has a rim above 190 mm, for a run on it takes three times as long."""
    large = int(rng.integers(count)) if rng.random() < 0.4 else -1
    return [_mandrel(rng, NAMES[i], large=i == large) for i in range(count)]


def _mandrel(rng: np.random.Generator, name: str, *, large: bool) -> Mandrel:
    for _ in range(400):
        finished = float(np.round(rng.uniform(180.0, 250.0) if large else rng.uniform(90.0, 170.0)))
        blank = finished + float(np.round(rng.uniform(18.0, 30.0)))
        line = _line(rng, blank / 2.0)
        if line is None or not FLATTEST < line.slope[-1] < STEEPEST:
            continue
        if np.max(np.abs(line.curvature)) > 1.0 / TIGHTEST_MM or np.min(line.slope) < 0.0:
            continue
        turned = rng.random() < 0.3
        if turned:
            at = line.s[-1] - rng.uniform([30.0, 75.0], [60.0, 110.0])
            line = faceted(line, tuple((float(c), float(rng.uniform(22.0, 34.0)), 0.06) for c in at))
        plated = rng.random() < 0.25
        # Drawing ends where the bell is a fifth to two fifths of the rim, a hand's width before it at most.
        slender = line.arc_at_radius(rng.uniform(0.2, 0.36) * finished / 2.0)
        end = float(np.interp(max(slender, line.s[-1] - rng.uniform(*SPUN_MM)), line.s, line.z))
        return Mandrel(
            name, line, blank, finished, end,
            plated_from="2024-07-01" if plated else None, plating=0.012 if plated else 0.0, faceted=turned,
        )  # fmt: skip
    raise ArithmeticError("mandrels: no line of the wanted slope was drawn in 400 tries")


def _line(rng: np.random.Generator, rim: float) -> SteelLine | None:
    tail = float(rng.uniform(5.0, 10.0))
    length = float(rng.uniform(3.4, 6.5) * rim)
    family = rng.integers(3)
    if family == 0:
        return bessel(tail=tail, rim=rim, length=length, exponent=float(rng.uniform(0.5, 0.9)))
    if family == 1:
        taper = float(rng.uniform(0.02, 0.05))
        if tail + taper * length > 0.5 * rim:
            return None
        reach = float(rng.uniform(0.28, 0.55) * rim)
        return exponential(tail=tail, rim=rim, length=length, taper=taper, reach=reach)
    return rolled(
        tail=tail, rim=rim, length=length + rim, taper=float(rng.uniform(0.01, 0.05)),
        last_slope=float(rng.uniform(0.95, 1.3)),
    )  # fmt: skip
