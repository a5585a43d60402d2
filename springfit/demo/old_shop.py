"""A second, older book of the invented shop: five originals to be copied, and an old mandrel worn by its bells.

LINNET  five bells of one family with two facets, a corner at the throat and a dish in the flare; all buffed, cut
        short and squeezed, one dented, one patched
DUNLIN  a mandrel with two ridges, worn down by four hundred bells, cut into at two trim rings, plated once;
        measured five times
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pandas as pd

from springfit.demo.keeping.book_sheets import table
from springfit.demo.keeping.measuring import Gauge, Hands
from springfit.demo.keeping.pages import BATCHES, BELLS, MEASUREMENTS, gauge_table, mandrel_tables
from springfit.demo.keeping.sessions import usual_gauges
from springfit.demo.originals import POINTS, laid_beside
from springfit.demo.spinning.families import BellLine, bessel_horn, with_corner, with_dishes
from springfit.demo.spinning.recipe import Recipe
from springfit.demo.spinning.true_steel import Mandrel, Steel

__all__ = ["FAMILY", "WORN", "first_steel", "linnet_line", "old_shop_tables"]

INCH = 25.4
# All of it invented and planted; the seed is any number.
SEED = 1911
FAMILY, COUNT = "LINNET", 5
CORNER = (240.0, 0.0095, 4.0)  # centre arc [mm], turn [rad], rounding [mm]: some 0.08 mm under 38 mm
DISH = (304.0, 34.0, 0.08)  # centre arc, width, depth [mm]
DENTED, DENT = 2, (272.0, 6.0, 0.45)  # number; centre arc, 1 sd of its spread, depth [mm]
PATCHED, PATCH = 4, (180.0, 20.0, 0.18)  # number; centre arc, half width, thickness [mm]
HEIGHT = "outside micrometer at stations set with a height gauge"
WORN = "DUNLIN"
RIDGES = ((268.0, 36.0, 0.09), (322.0, 36.0, 0.09))  # centre arc, width, height [mm]
WORN_DOWN_MM = 0.04  # of a ridge, when the last bell had been spun
RING_MM, RING_WIDTH_MM = 0.15, 2.0  # of a trim ring: depth and width
RINGS_FROM_RIM_MM = (17.0, 29.0)
PLATING_MM = 0.012
BELLS_A_BATCH, BATCHES_BETWEEN = 25, 4
DAYS = ("1996-02-05", "1999-03-15", "2002-06-10", "2005-09-05", "2008-11-17")
NOTES = ("turned and polished", None, "trim rings show", "plated, matte", None)
FIRST_RINGS, PLATED = 2, 3  # revisions from which on rings are cut, and plating lies on it


def linnet_line() -> BellLine:
    """The inside of LINNET as it was meant."""
    fair = bessel_horn(tail=6.0, rim=4.8 * INCH / 2, length=352.0, exponent=0.66)
    return with_dishes(with_corner(fair, *CORNER), (DISH,))


def first_steel() -> BellLine:
    """DUNLIN as it was turned."""
    return _steel(0)


def old_shop_tables() -> dict[str, pd.DataFrame]:
    """The tables of the older book, in mm; the same on every call."""
    rng = np.random.default_rng(SEED)
    mic = usual_gauges(rng)["MIC"]
    height = replace(mic, gauge_id="HEIGHT", what=HEIGHT, station_mm=0.03)
    batches, bells = _ledger()
    return {
        **mandrel_tables({WORN: _dunlin()}, rng),
        "batches": table(batches, BATCHES),
        "bells": table(bells, BELLS),
        "measurements": table([], MEASUREMENTS),
        **gauge_table({"HEIGHT": height}),
        **_originals(height, rng),
    }


def _dunlin() -> Mandrel:
    steels = tuple(
        Steel(k, day, _steel(k), "plated_matte" if k >= PLATED else "bare", NOTES[k])
        for k, day in enumerate(DAYS)
    )
    return Mandrel(WORN, steels, _habit(), INCH / 4)


def _habit() -> Recipe:
    return Recipe(
        draw_end_mm=10.5 * INCH, wall_mm=0.020 * INCH, blank_rim_mm=5.4 * INCH, finished_rim_mm=4.9 * INCH
    )


def _steel(revision: int) -> BellLine:
    """The steel at a revision: ridges worn by the bells before it, then rings and plating."""
    fair = bessel_horn(tail=6.2, rim=4.9 * INCH / 2, length=366.0, exponent=0.68, beyond=6.0)
    worn = WORN_DOWN_MM * revision / (len(DAYS) - 1)
    line = with_dishes(fair, tuple((at, width, worn - high) for at, width, high in RIDGES))
    if revision >= PLATED:
        line = line.moved_along_normal(np.full_like(line.s, PLATING_MM))
    if revision >= FIRST_RINGS:
        rings = tuple((line.length - at, RING_WIDTH_MM, RING_MM) for at in RINGS_FROM_RIM_MM)
        line = with_dishes(line, rings)
    return line


def _ledger() -> tuple[list[dict], list[dict]]:
    """Batches between the days it was measured, counted but never measured: a row for the last bell of each."""
    habit = _habit()
    batches: list[dict[str, object]] = []
    bells: list[dict[str, object]] = []
    for begun, ended in pairwise(DAYS):
        days = pd.date_range(begun, ended, periods=BATCHES_BETWEEN + 2)[1:-1]
        for day in days:
            in_year = 1 + sum(str(one["batch_id"]).startswith(f"D{day:%y}") for one in batches)
            name = f"D{day:%y}-{in_year:02d}"
            batches.append(
                {
                    "batch_id": name, "spun_on": f"{day:%Y-%m-%d}", "mandrel_id": WORN, "alloy": "C26000",
                    "wall_mm": habit.wall_mm, "anneal": "full", "draw_end_mm": habit.draw_end_mm,
                    "blank_rim_mm": habit.blank_rim_mm, "finished_rim_mm": habit.finished_rim_mm,
                    "note": f"{BELLS_A_BATCH} bells",
                }
            )  # fmt: skip
            last = f"{name}-{BELLS_A_BATCH}"
            bells.append(
                {"bell_id": last, "batch_id": name, "order_in_batch": BELLS_A_BATCH, "verdict": "good"}
            )
    return batches, bells


def _originals(gauge: Gauge, rng: np.random.Generator) -> dict[str, pd.DataFrame]:
    line = linnet_line()
    hands = Hands(rng)
    heads, points = [], []
    for number in range(1, COUNT + 1):
        name = f"L{number}"
        sheet = 0.50 + 0.015 * float(rng.normal())
        buffed = _buffed(line, rng)
        away = -buffed + _mended(line, number)
        bell = laid_beside(
            line.moved_along_normal(away), line, sheet,
            oval=0.05 * abs(float(rng.normal())), oval_at=float(rng.uniform(0.0, 3.0)),
        )  # fmt: skip
        note = {DENTED: "dented", PATCHED: "patched in the body"}.get(number)
        wall = float(np.round(sheet - buffed[-60], 3))
        heads.append({"specimen_id": name, "family": FAMILY, "wall_mm": wall, "note": note})
        own_tail = hands.free(float(rng.uniform(-3.0, 0.0)))  # cut short by up to 3 mm
        arcs = np.arange(8.0 + float(rng.uniform(0.0, 6.35)), line.length - 2.0, 6.35)
        z = np.round(own_tail.reading_z(np.interp(arcs, bell.arc, bell.z)) / 0.127) * 0.127
        points += [
            {**row, "specimen_id": name} for row in hands.outside(bell, own_tail, z, gauge, (0.0, 90.0))
        ]
    return {
        "specimens": table(heads, ("specimen_id", "family", "trust", "wall_mm", "note")),
        "specimen_points": table(points, POINTS),
    }


def _buffed(line: BellLine, rng: np.random.Generator) -> np.ndarray:
    """What buffing took off the outside (n,) [mm]: 0.01 to 0.05, more here and less there."""
    turns = float(rng.uniform(0.5, 1.5)) * line.s / line.length + float(rng.uniform())
    return np.asarray(0.03 + 0.02 * np.sin(2 * np.pi * turns))


def _mended(line: BellLine, number: int) -> np.ndarray:
    """Normal motion (n,) [mm] by the dent of one and the patch of another."""
    if number == DENTED:
        at, spread, deep = DENT
        return np.asarray(-deep * np.exp(-0.5 * ((line.s - at) / spread) ** 2))
    if number == PATCHED:
        at, half, thick = PATCH
        return np.asarray(thick / (1.0 + (np.abs(line.s - at) / half) ** 12))
    return np.zeros_like(line.s)
