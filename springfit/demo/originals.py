"""Six old bells of one family, studied for a copy: each worn, cut short and squeezed in its own way."""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy.spatial import cKDTree

from springfit.demo.keeping.book_sheets import table
from springfit.demo.keeping.measuring import Gauge, Hands
from springfit.demo.spinning.families import BellLine, with_dishes
from springfit.demo.spinning.spun import SpunBell

__all__ = ["FAMILY", "POINTS", "family_line", "laid_beside", "original_tables"]

FAMILY = "KESTREL"
COUNT = 6  # originals; planted, as all that follows
DISH = (330.0, 38.0, 0.08)  # centre arc, width, depth [mm]
FULLER_MM = 0.18  # how far the family stands off the mandrel it is laid on, most of it in the flare
DENT_MM, DENTED = 0.5, 4  # one is dented, and little trusted
POINTS = ("specimen_id", "kind", "z_mm", "value_mm", "gauge_id", "mandrel_id", "revision")


def family_line(near: BellLine, end_radius: float) -> BellLine:
    """The inside as it was meant: a little fuller than the line `near`, with one shallow dish."""
    fuller = FULLER_MM * np.clip(near.s / near.length - 0.4, 0.0, 1.0)
    line = with_dishes(near.moved_along_normal(fuller), (DISH,))
    return line.cut_at(line.arc_at_radius(end_radius))


def original_tables(
    line: BellLine, steel: BellLine, laid_on: tuple[str, int], gauges: dict[str, Gauge], seed: int
) -> dict[str, pd.DataFrame]:
    """`specimens` and `specimen_points` of the family of `line`; some are laid on a mandrel of line
    `steel`.
    """
    rng = np.random.default_rng([seed, 31])
    heads, points = [], []
    for number in range(1, COUNT + 1):
        name = f"K{number}"
        dented = number == DENTED
        worn = _worn(line, rng, dented=dented)
        wall = 0.46 + 0.02 * float(rng.normal())
        note = "dented in the throat" if dented else None
        trust = 0.3 if dented else None
        heads.append({"specimen_id": name, "family": FAMILY, "trust": trust, "wall_mm": wall, "note": note})
        for row in _readings(worn, steel, wall, gauges, rng, laid=number % 2 == 0):
            mandrel, revision = laid_on if row["kind"] == "clearance" else (None, None)
            points.append({**row, "specimen_id": name, "mandrel_id": mandrel, "revision": revision})
    return {
        "specimens": table(heads, ("specimen_id", "family", "trust", "wall_mm", "note")),
        "specimen_points": table(points, POINTS),
    }


def _worn(line: BellLine, rng: np.random.Generator, *, dented: bool) -> BellLine:
    """The line with slow wear of a few hundredths, and a dent in one."""
    u = line.s / line.length
    wear = sum(0.03 / k * rng.normal() * np.cos(np.pi * k * u + rng.uniform(0.0, 6.0)) for k in (1, 2, 3))
    wear = np.asarray(wear) * u
    if dented:
        wear = wear - DENT_MM * np.exp(-0.5 * ((line.s - 0.72 * line.length) / 6.0) ** 2)
    return line.moved_along_normal(wear)


def _readings(
    line: BellLine,
    steel: BellLine,
    wall: float,
    gauges: dict[str, Gauge],
    rng: np.random.Generator,
    *,
    laid: bool,
) -> list[dict]:
    """Outside diameters from the specimen's own tail, and clearances where it was laid on the mandrel."""
    hands = Hands(rng)
    bell = laid_beside(
        line, steel, wall, oval=0.05 * abs(float(rng.normal())), oval_at=float(rng.uniform(0.0, 3.0))
    )
    own_tail = hands.free(float(rng.uniform(-3.0, 0.0)))  # cut short by up to 3 mm
    arcs = np.concatenate(
        [np.arange(15.0, 0.6 * line.length, 25.4), np.arange(0.6 * line.length, line.length - 2.0, 6.35)]
    )
    z = np.round(own_tail.reading_z(np.interp(arcs, bell.arc, bell.z)) / 0.127) * 0.127
    rows = hands.outside(bell, own_tail, z, gauges["MIC"], (0.0, 90.0))
    if laid:
        seated = hands.pushed_on(bell, 0.0, 0.15)
        at = np.interp(np.arange(0.5, 0.99, 0.06) * line.length, bell.arc, bell.steel_z)
        rows += hands.feelers(bell, seated, np.round(at / 0.127) * 0.127, gauges["FEEL"])
    return rows


def laid_beside(line: BellLine, steel: BellLine, wall: float, *, oval: float, oval_at: float) -> SpunBell:
    """The specimen as a bell beside the steel: gap where each of its points lies nearest."""
    s = np.linspace(0.0, line.length, int(line.length / 0.25) + 2)
    z, r, _ = line.points_at(s)
    fine = np.arange(0.0, steel.length, 0.02)
    steel_z, steel_r, slope = steel.points_at(fine)
    near = cKDTree(np.column_stack([steel_z, steel_r])).query(np.column_stack([z, r]))[1]
    gap = -(z - steel_z[near]) * np.sin(slope[near]) + (r - steel_r[near]) * np.cos(slope[near])
    lobes = oval * (s / line.length) ** 4
    flat = np.full_like(s, wall)
    return SpunBell(fine[near], steel_z[near], slope[near], z, r, gap, np.zeros_like(s), flat, lobes, oval_at)
