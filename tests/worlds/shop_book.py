"""A shop's record book of a world: batches on its mandrels, bells of each, the tables, in inches or millimetres."""

from __future__ import annotations

from dataclasses import asdict, dataclass

import numpy as np
import pandas as pd

from .bell_sessions import Bench, spun_rows, trimmed_rows
from .hands import Row
from .kinds.world import Departure, World, swelling
from .mandrel_lines import SteelLine, line_through
from .mandrels import FIRST_DAY, Mandrel
from .recipes import CONDITION_COLUMNS, Recipe, drawn_recipe, redone
from .sprung_bell import OwnBell, released

__all__ = ["Shop", "ShopSize", "book_tables", "steel_on", "written_stations"]

INCH = 25.4
# Share of batches whose cell is left blank, as in a working shop's book; assumed.
BLANK = {"temper": 0.08, "anneal": 0.05, "lot": 0.15, "draw_ring": 0.08, "hump": 0.12, "tool_nose_mm": 0.1,
         "spindle_rpm": 0.2, "lubricant": 0.25}  # fmt: skip


@dataclass(frozen=True)
class ShopSize:
    """How much a shop spins and how often: `recipes` distinct ones, `batches`, those also measured before trimming."""

    recipes: int
    batches: int
    spun_stage: int
    bells: tuple[int, int] = (3, 8)


@dataclass(frozen=True, eq=False)
class Shop:
    """A shop to be written: its physics, steel, bench, people and faults. `swelling` [mm] of one back pass, 0 = none
    are made; `bell_spread` 1 sd of a bell's logarithmic scale; `thinning` share of wall lost in the flare."""

    world: World
    mandrels: list[Mandrel]
    bench: Bench
    spinners: tuple[str, ...]
    size: ShopSize
    inch: bool
    swelling: float
    bell_spread: float
    thinning: float


@dataclass(frozen=True)
class _Batch:
    batch_id: str
    day: str
    mandrel: Mandrel
    recipe: Recipe
    own: Departure
    spun_stage: bool


def book_tables(shop: Shop, rng: np.random.Generator) -> dict[str, pd.DataFrame]:
    """Every table of the book, lengths in mm."""
    batches = _batches(shop, rng)
    bells: list[Row] = []
    readings: list[Row] = []
    for batch in batches:
        spun, read = _measured(shop, batch, rng)
        bells += spun
        readings += read
    tables = _steel_tables(shop, rng)
    tables["batches"] = _batch_table(batches, rng)
    tables["bells"] = pd.DataFrame(bells)
    columns = ["bell_id", "stage", "kind", "datum", "z_mm", "angle_deg", "value_mm", "gauge_id"]
    tables["measurements"] = pd.DataFrame(readings)[columns]
    gauges = [{k: v for k, v in asdict(gauge).items() if k != "bias"} for gauge in shop.bench.gauges.values()]
    tables["gauges"] = pd.DataFrame(gauges)
    return tables


def steel_on(mandrel: Mandrel, day: str) -> tuple[int, SteelLine]:
    """Revision in force on an ISO day and its true line."""
    if mandrel.plated_from is None or day < mandrel.plated_from:
        return 0, mandrel.line
    line = mandrel.line
    return 1, line_through(
        line.z[::4] - mandrel.plating * np.sin(line.slope[::4]), line.r[::4] + mandrel.plating * np.cos(line.slope[::4])
    )


def written_stations(line: SteelLine) -> np.ndarray:
    """Arcs where a line is written down: every 5 mm of z while slender, every 2.5 mm of radius where it flares."""
    steep = int(np.argmax(line.slope > np.pi / 4)) if np.any(line.slope > np.pi / 4) else len(line.s) - 1
    slender = np.interp(np.arange(0.0, line.z[steep], 5.0), line.z, line.s)
    flare = np.interp(np.arange(line.r[steep] + 1.0, line.r[-1] - 0.5, 2.5), np.maximum.accumulate(line.r), line.s)
    return np.concatenate([slender, flare[flare > slender[-1] + 0.5], [line.s[-1]]])


def _batches(shop: Shop, rng: np.random.Generator) -> list[_Batch]:
    count, recipes = shop.size.batches, shop.size.recipes
    habits = [shop.mandrels[i % len(shop.mandrels)] for i in range(recipes)]
    drawn = [(mandrel, drawn_recipe(rng, mandrel, spinners=shop.spinners)) for mandrel in habits]
    again = [drawn[int(rng.integers(recipes))] for _ in range(count - recipes)]
    everything = drawn + [(mandrel, redone(rng, recipe, spinners=shop.spinners)) for mandrel, recipe in again]
    made = []
    for i, place in enumerate(rng.permutation(count)):
        mandrel, recipe = everything[place]
        if shop.swelling and rng.random() < 0.2:
            recipe = Recipe(**{**asdict(recipe), "back_passes": int(rng.integers(1, 3))})
        day = str(np.datetime64("2024-03-04") + int(9 * i + rng.integers(0, 5)))
        own = shop.world.departure(rng, recipe.spinner)
        made.append(_Batch(f"B{i + 1:03d}", day, mandrel, recipe, own, bool(place < shop.size.spun_stage)))
    return made


def _measured(shop: Shop, batch: _Batch, rng: np.random.Generator) -> tuple[list[Row], list[Row]]:
    """Rows of bells and of measurements of one batch."""
    _, line = steel_on(batch.mandrel, batch.day)
    back = shop.world.springback(line, batch.recipe, batch.own, trimmed=True)
    whole = shop.world.springback(line, batch.recipe, batch.own, trimmed=False) if batch.spun_stage else None
    names, shares = list(shop.bench.datums), list(shop.bench.datums.values())
    datum = str(rng.choice(names, p=shares))
    sheet, swell = batch.recipe.wall_mm + 0.004 * float(rng.normal()), swelling(line, batch.recipe, shop.swelling)
    bells: list[Row] = []
    readings: list[Row] = []
    for order in range(1, int(rng.integers(shop.size.bells[0], shop.size.bells[1] + 1)) + 1):
        bell_id, own = f"{batch.batch_id}-{order:02d}", OwnBell.drawn(rng, shop.bell_spread)
        if rng.random() < 0.3:
            datum = str(rng.choice(names, p=shares))
        split = rng.random() < 0.01
        witness_z = float(np.round(0.8 * batch.recipe.draw_end_mm, 1))
        bells.append({"bell_id": bell_id, "batch_id": batch.batch_id, "order_in_batch": order,
                      "witness_z_mm": witness_z if datum == "witness" else None,
                      "verdict": "scrap" if split else "good", "fault": "split" if split else None})  # fmt: skip
        if split:
            continue
        for kind, of, rows in ((trimmed_rows, back, True), (spun_rows, whole, rng.random() < 0.5)):
            if of is None or not rows:
                continue
            bell = released(
                line, of, own, wall=sheet, thinning=shop.thinning, swollen=np.interp(of.s, line.s, swell)
            )
            read = kind(bell, shop.bench, datum=datum, witness_z=witness_z)
            readings += [{"bell_id": bell_id, **row} for row in read]
    return bells, readings


def _batch_table(batches: list[_Batch], rng: np.random.Generator) -> pd.DataFrame:
    rows = []
    for batch in batches:
        row: Row = {"batch_id": batch.batch_id, "spun_on": batch.day, "mandrel_id": batch.mandrel.mandrel_id}
        row |= {"lot": f"L{rng.integers(1, 9)}"} | asdict(batch.recipe)
        rows.append({key: None if rng.random() < BLANK.get(key, 0.0) else value for key, value in row.items()})
    return pd.DataFrame(rows)[["batch_id", "spun_on", "mandrel_id", "lot", *CONDITION_COLUMNS]]


def _steel_tables(shop: Shop, rng: np.random.Generator) -> dict[str, pd.DataFrame]:
    mandrels, stations, targets, outlines = [], [], [], []
    for mandrel in shop.mandrels:
        for day in sorted({FIRST_DAY, mandrel.plated_from or FIRST_DAY}):
            revision, line = steel_on(mandrel, day)
            finish = "plated_matte" if revision else "bare"
            mandrels.append({"mandrel_id": mandrel.mandrel_id, "revision": revision, "in_force_from": day,
                             "finish": finish, "steel": "tool steel", "note": None})  # fmt: skip
            arcs = written_stations(line)
            z, r = np.interp(arcs, line.s, line.z), np.interp(arcs, line.s, line.r)
            error = 0.002 * rng.normal(size=len(arcs))
            stations.append(pd.DataFrame({"mandrel_id": mandrel.mandrel_id, "revision": revision, "z_mm": z,
                                          "diameter_mm": 2.0 * (r + error)}))  # fmt: skip
        name = f"{mandrel.mandrel_id}-T"
        targets.append({"target_id": name, "mandrel_id": mandrel.mandrel_id, "tolerance_mm": 0.05, "slide_mm": 0.5})
        line = mandrel.line.part(0.0, mandrel.line.arc_at_radius(mandrel.finished_rim / 2.0))
        arcs = written_stations(line)
        z, r = np.interp(arcs, line.s, line.z), np.interp(arcs, line.s, line.r)
        outlines.append(pd.DataFrame({"target_id": name, "z_mm": z, "diameter_mm": 2.0 * r}))
    return {"mandrels": pd.DataFrame(mandrels), "mandrel_profile": pd.concat(stations, ignore_index=True),
            "targets": pd.DataFrame(targets), "target_profile": pd.concat(outlines, ignore_index=True)}  # fmt: skip
