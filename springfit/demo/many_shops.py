"""Invented shops by the hundred: tables as a maker would keep them, and the truth that no maker ever sees.

shop = make_shop(7, batches=8, mandrels=2, story="steel")
true_gap(shop, z, diameter, conditions)            what any mandrel would give, no batch or bell effects
spin_batch(shop, "M1", z, diameter, conditions)    cut that steel, spin a new batch on it, measure it
true_error(shop, "M1-T", z, diameter, conditions)  how far that bell would be from its target
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
import pandas as pd

from springfit.demo.keeping.habits import drawn_recipe, hired
from springfit.demo.keeping.pages import Target, gauge_table, mandrel_tables, run_tables, target_tables
from springfit.demo.keeping.runs import Rows, Run, Workshop, spin
from springfit.demo.keeping.sessions import Plan, usual_gauges
from springfit.demo.shop import Shop, true_error, true_gap
from springfit.demo.spinning.families import BellLine, bessel_horn, exponential_flare, line_through
from springfit.demo.spinning.recipe import Recipe, recipe_from
from springfit.demo.spinning.spun import BatchEffects, BellEffects, Press
from springfit.demo.spinning.true_steel import Mandrel, Steel

__all__ = ["make_shop", "planted_shape", "spin_batch", "true_error", "true_gap"]

Story = Literal["right", "steel", "slide", "back_pass"]
SLIDE_MM = 0.3  # of the `slide` story: the target lies this much nearer the tail than the bell
STEP_MM = {
    "mm": 0.1,
    "in": 0.127,
}  # a station as written: 0.1 mm or 0.005 in
BEYOND_MM = 8.0  # of radius, steel past the finished rim


def make_shop(
    seed: int,
    *,
    batches: int = 8,
    mandrels: int = 2,
    bells: int = 6,
    units: str = "mm",
    story: Story = "steel",
    steel_error_mm: float = 0.12,
    steady: bool = False,
    spread: float = 1.0,
    bell_spread: float = 1.0,
    spring: float = 1.0,
    datums: tuple[str, ...] = ("witness", "witness", "tail", "rim"),
    blanks: float = 0.06,
) -> Shop:
    """A shop of `mandrels` mandrels and `batches` batches of `bells` bells each, by `seed`.

    `story` says how steel and targets were planted. right: each target is the bell that the steel truly
    gives under the mandrel's habit. steel: the steel is `steel_error_mm` per side too large toward the rim
    (negative: too small). slide: right, but the target lies 0.3 mm nearer the tail. back_pass: right, but
    every batch was passed back toward the tail. `steady` keeps every batch at its mandrel's habit but for
    lot and spinner. `spread` and `bell_spread` scale batch and bell effects, `spring` every locked-in
    stress (0: only noise is left). Batches take `datums` in turn; `blanks` is the share left unwritten.
    """
    rng = np.random.default_rng([seed, 20])
    people = hired(rng, ("A", "B"), tuple(f"L{i}" for i in range(1, 2 + batches // 4)), spread=spread)
    workshop = Workshop(people, usual_gauges(rng), Press(spring))
    error = steel_error_mm if story == "steel" else 0.0
    made = [_mandrel(f"M{i}", rng, error) for i in range(1, mandrels + 1)]
    held = {mandrel.mandrel_id: mandrel for mandrel, _ in made}
    shift = -SLIDE_MM if story == "slide" else 0.0
    wanted = [_target(mandrel, ideal, workshop, shift) for mandrel, ideal in made]
    targets = {target.target_id: target for target in wanted}
    custom = _Custom(bells, units, int(story == "back_pass"), steady, spread, bell_spread, datums, blanks)
    rows, batch_effects = _spun(custom, batches, held, workshop, rng)
    steel, ends = mandrel_tables(held, rng), target_tables(targets)
    tables = {**steel, **ends, **run_tables(rows), **gauge_table(workshop.gauges)}
    return Shop(seed, units, tables, held, targets, workshop, batch_effects, rows.effects)


@dataclass(frozen=True)
class _Custom:
    """How a shop spins and measures its batches: what `make_shop` was asked for of them."""

    bells: int
    units: str
    back_passes: int
    steady: bool
    spread: float
    bell_spread: float
    datums: tuple[str, ...]
    blanks: float


def _spun(
    custom: _Custom, batches: int, held: dict[str, Mandrel], workshop: Workshop, rng: np.random.Generator
) -> tuple[Rows, dict[str, BatchEffects]]:
    """The rows of `batches` batches, mandrels in turn, one every eleven days; each batch's hidden effects."""
    rows, effects = Rows(), {}
    for i in range(batches):
        mandrel = held[f"M{i % len(held) + 1}"]
        recipe = drawn_recipe(
            rng, mandrel.habit, workshop.people, units=custom.units, back_passes=custom.back_passes
        )
        if custom.steady:
            recipe = replace(
                mandrel.habit, lot=recipe.lot, spinner=recipe.spinner, back_passes=recipe.back_passes
            )
        day = str(np.datetime64("2023-01-09") + 11 * i)
        departs = BatchEffects.drawn(rng, spread=custom.spread)
        datum = custom.datums[i % len(custom.datums)]
        plan = Plan(datum=datum, step_mm=STEP_MM[custom.units], rings=i % 3 == 0)
        name = f"S{i + 1:03d}"
        run = Run(name, day, mandrel.mandrel_id, mandrel.on(day), recipe, departs, plan, custom.bells)
        run = replace(run, bell_spread=custom.bell_spread, blanks=custom.blanks)
        rows.add(spin(run, workshop, rng))
        effects[name] = workshop.own(recipe, departs)
    return rows, effects


def _mandrel(name: str, rng: np.random.Generator, error_mm: float) -> tuple[Mandrel, BellLine]:
    """A mandrel of random family and size, and the ideal line its steel should have had."""
    rim, length = float(rng.uniform(55.0, 72.0)), float(rng.uniform(280.0, 380.0))
    tail, form = float(rng.uniform(5.6, 8.0)), float(rng.uniform(0.0, 1.0))
    if rng.random() < 0.75:
        exponent = 0.60 + 0.25 * form
        ideal = bessel_horn(tail=tail, rim=rim, length=length, exponent=exponent, beyond=BEYOND_MM)
    else:
        reach = 20.0 + 8.0 * form
        ideal = exponential_flare(
            tail=tail, rim=rim, length=length, taper=0.03, reach=reach, beyond=BEYOND_MM
        )
    finished = float(round(2.0 * rim))
    draw_end = float(round(length * float(rng.uniform(0.66, 0.80))))
    habit = Recipe(draw_end_mm=draw_end, blank_rim_mm=finished + 12.0, finished_rim_mm=finished)
    steel = ideal.moved_along_normal(error_mm * planted_shape(ideal)) if error_mm else ideal
    return Mandrel(name, (Steel(0, "2022-12-01", steel),), habit), ideal


def planted_shape(line: BellLine) -> np.ndarray:
    """Shape (n,) of a planted steel error: none on the tail, one from 85 % of the arc."""
    x = np.clip((line.s / line.length - 0.55) / 0.30, 0.0, 1.0)
    return x * x * (3.0 - 2.0 * x)


def _target(mandrel: Mandrel, ideal: BellLine, workshop: Workshop, shift: float) -> Target:
    none = BatchEffects()
    bell = workshop.press.press(ideal, mandrel.habit, none).bell(none, BellEffects())
    wanted = line_through(bell.z[::8] + shift, bell.r[::8])
    return Target(f"{mandrel.mandrel_id}-T", mandrel.mandrel_id, wanted, tolerance_mm=0.05, slide_mm=0.5)


def spin_batch(
    shop: Shop,
    mandrel_id: str,
    z: np.ndarray,
    diameter: np.ndarray,
    conditions: Any,
    *,
    batch_id: str = "N001",
    n_bells: int = 6,
    spun_on: str = "2025-06-02",
    revision: int = 1,
    datum: str = "witness",
    seed: int = 0,
    effects: BatchEffects | None = None,
    bell_spread: float = 1.0,
) -> dict[str, pd.DataFrame]:
    """Cut steel to a profile [mm], spin a batch on it under `conditions`, and measure it.

    Returns rows in mm of mandrels, mandrel_profile (the new revision, measured), batches, bells and
    measurements, for `sheets.added`. Batch effects are drawn by `seed` unless `effects` says which.
    """
    rng = np.random.default_rng([shop.seed, seed, 21])
    line = line_through(np.asarray(z, float), np.asarray(diameter, float) / 2.0)
    recipe = recipe_from(conditions, shop.mandrels[mandrel_id].habit)
    steel = Steel(revision, spun_on, line, note="recut")
    departs = effects or BatchEffects.drawn(rng)
    plan = Plan(datum=datum, step_mm=STEP_MM[shop.units])
    run = Run(batch_id, spun_on, mandrel_id, steel, recipe, departs, plan, n_bells)
    rows = spin(replace(run, bell_spread=bell_spread, blanks=0.0), shop.workshop, rng)
    mandrel = replace(shop.mandrels[mandrel_id], revisions=(steel,))
    return {**mandrel_tables({mandrel_id: mandrel}, rng), **run_tables(rows)}
