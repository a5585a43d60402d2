"""Invented shops by the hundred: tables as a maker would keep them, and the truth that no maker ever sees.

shop = make_shop(7, batches=8, mandrels=2, story="steel")
true_gap(shop, z, diameter, conditions)            what any mandrel would give, without batch or bell effects
spin_batch(shop, "M1", z, diameter, conditions)    cut that steel, spin a new batch on it, measure it
true_error(shop, "M1-T", z, diameter, conditions)  how far that bell would be from its target
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
import pandas as pd
from scipy.spatial import cKDTree

from springfit.demo.bench import Plan, usual_gauges
from springfit.demo.families import BellLine, bessel_horn, exponential_flare, line_through
from springfit.demo.habits import drawn_recipe, hired
from springfit.demo.pages import Target, gauge_table, mandrel_tables, run_tables, target_tables
from springfit.demo.recipe import Recipe, recipe_from
from springfit.demo.runs import Rows, Run, Workshop, spin
from springfit.demo.spun import BatchEffects, BellEffects, Press
from springfit.demo.steel import Mandrel, Steel

__all__ = ["Shop", "make_shop", "spin_batch", "true_error", "true_gap"]

Story = Literal["right", "steel", "slide", "back_pass"]
SLIDE_MM = 0.3  # of the `slide` story: the target lies this much nearer the tail than the bell


@dataclass(frozen=True, eq=False)
class Shop:
    """One invented shop: `tables` in mm as a record book, the rest hidden truth."""

    seed: int
    units: str
    tables: dict[str, pd.DataFrame]
    mandrels: dict[str, Mandrel]
    targets: dict[str, Target]
    workshop: Workshop
    batch_effects: dict[str, BatchEffects]
    bell_effects: dict[str, BellEffects]

    def habit(self, line: BellLine) -> Recipe:
        """What fills blanks in conditions for a mandrel of this line: the shop's nearest mandrel by rim,
        its rims by the line's.
        """
        near = min(self.mandrels.values(), key=lambda m: abs(m.revisions[0].line.r[-1] - line.r[-1]))
        end = 2.0 * float(line.r[-1])
        return replace(
            near.habit,
            blank_rim_mm=min(near.habit.blank_rim_mm, end),
            finished_rim_mm=min(near.habit.finished_rim_mm, end - 10.0),
        )


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
    stress (0: only noise is left).
    """
    rng = np.random.default_rng([seed, 20])
    people = hired(rng, ("A", "B"), tuple(f"L{i}" for i in range(1, 2 + batches // 4)), spread=spread)
    workshop = Workshop(people, usual_gauges(rng), Press(spring))
    made = {f"M{i}": _mandrel(f"M{i}", rng, story, steel_error_mm) for i in range(1, mandrels + 1)}
    ideal = {name: line for name, (_, line) in made.items()}
    held = {name: mandrel for name, (mandrel, _) in made.items()}
    targets = {f"{name}-T": _target(name, held[name].habit, ideal[name], workshop, story) for name in held}
    rows, batch_effects = Rows(), {}
    for i in range(batches):
        mandrel = held[f"M{i % mandrels + 1}"]
        back = int(story == "back_pass")
        drawn = drawn_recipe(rng, mandrel.habit, people, units=units, back_passes=back)
        recipe = (
            replace(mandrel.habit, lot=drawn.lot, spinner=drawn.spinner, back_passes=back)
            if steady
            else drawn
        )
        day = str(np.datetime64("2023-01-09") + 11 * i)
        effects = BatchEffects.drawn(rng, spread=spread)
        plan = Plan(datum=datums[i % len(datums)], step_mm=0.127 if units == "in" else 0.1, rings=i % 3 == 0)
        run = Run(
            f"S{i + 1:03d}",
            day,
            mandrel.mandrel_id,
            mandrel.on(day),
            recipe,
            effects,
            plan,
            bells,
            bell_spread=bell_spread,
            blanks=blanks,
        )
        batch_effects[run.batch_id] = workshop.own(recipe, effects)
        rows.add(spin(run, workshop, rng))
    tables = {
        **mandrel_tables(held, rng),
        **target_tables(targets),
        **run_tables(rows),
        **gauge_table(workshop.gauges),
    }
    return Shop(seed, units, tables, held, targets, workshop, batch_effects, rows.effects)


def _mandrel(name: str, rng: np.random.Generator, story: Story, error_mm: float) -> tuple[Mandrel, BellLine]:
    """A mandrel of random family and size, and the ideal line its steel should have had."""
    rim = float(rng.uniform(55.0, 72.0))
    length = float(rng.uniform(280.0, 380.0))
    if rng.random() < 0.75:
        ideal = bessel_horn(
            tail=float(rng.uniform(5.6, 8.0)),
            rim=rim,
            length=length,
            exponent=float(rng.uniform(0.6, 0.85)),
            beyond=8.0,
        )
    else:
        ideal = exponential_flare(
            tail=float(rng.uniform(5.6, 8.0)),
            rim=rim,
            length=length,
            taper=0.03,
            reach=float(rng.uniform(20.0, 28.0)),
            beyond=8.0,
        )
    habit = Recipe(
        draw_end_mm=round(length * float(rng.uniform(0.66, 0.80)), 0),
        blank_rim_mm=round(2 * rim) + 12.0,
        finished_rim_mm=float(round(2 * rim)),
    )
    steel = ideal if story != "steel" else ideal.moved_along_normal(error_mm * planted_shape(ideal))
    return Mandrel(name, (Steel(0, "2022-12-01", steel),), habit), ideal


def planted_shape(line: BellLine) -> np.ndarray:
    """Shape (n,) of a planted steel error: none on the tail, rising over the flare to one at 85 % of the
    arc, and level after.
    """
    x = np.clip((line.s / line.length - 0.55) / 0.30, 0.0, 1.0)
    return x * x * (3.0 - 2.0 * x)


def _target(name: str, habit: Recipe, ideal: BellLine, workshop: Workshop, story: Story) -> Target:
    elastic = workshop.press.press(ideal, habit, BatchEffects())
    bell = elastic.bell(BatchEffects(), BellEffects())
    shift = -SLIDE_MM if story == "slide" else 0.0
    return Target(f"{name}-T", name, line_through(bell.z[::8] + shift, bell.r[::8]), 0.05, 0.5)


@dataclass(frozen=True, eq=False)
class TrueGap:
    """The hidden gap along a mandrel: arcs, steel points, `gap` and `axial` motion, tail ends matched [mm],
    all (n,).
    """

    s: np.ndarray
    z: np.ndarray
    r: np.ndarray
    gap: np.ndarray
    axial: np.ndarray
    bell_z: np.ndarray
    bell_r: np.ndarray


def true_gap(
    shop: Shop,
    z: np.ndarray,
    diameter: np.ndarray,
    conditions: Any,
    *,
    stage: str = "trimmed",
    batch: BatchEffects | None = None,
    bell: BellEffects | None = None,
) -> TrueGap:
    """What a mandrel of profile `z`, `diameter` [mm] truly gives under `conditions` (any row of the book's
    names).

    Spinner and lot count with their own factors where the shop knows them; `batch` and `bell` effects are
    none unless given.
    """
    line = line_through(np.asarray(z, float), np.asarray(diameter, float) / 2.0)
    recipe = recipe_from(conditions, shop.habit(line))
    effects = shop.workshop.own(recipe, batch or BatchEffects())
    one = shop.workshop.press.press(line, recipe, effects, stage=stage).bell(effects, bell or BellEffects())
    keep = np.append(np.arange(0, len(one.arc) - 1, 6), len(one.arc) - 1)
    _, r, _ = line.points_at(one.arc[keep])
    return TrueGap(
        one.arc[keep], one.steel_z[keep], r, one.gap[keep], one.axial[keep], one.z[keep], one.r[keep]
    )


def true_error(
    shop: Shop, target_id: str, z: np.ndarray, diameter: np.ndarray, conditions: Any
) -> tuple[np.ndarray, np.ndarray]:
    """Arcs on the target and the normal distance [mm] from target to true bell, + when the bell is larger,
    both (n,).
    """
    bell = true_gap(shop, z, diameter, conditions)
    target = shop.targets[target_id].line
    fine = np.arange(0.0, target.length, 0.05)
    at_z, at_r, slope = target.points_at(fine)
    _, near = cKDTree(np.column_stack([at_z, at_r])).query(np.column_stack([bell.bell_z, bell.bell_r]))
    off = -(bell.bell_z - at_z[near]) * np.sin(slope[near]) + (bell.bell_r - at_r[near]) * np.cos(slope[near])
    inner = (near > 0) & (near < len(fine) - 1)
    return fine[near][inner], off[inner]


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
    """Cut steel to the profile, spin and measure a new batch: rows [mm] for mandrels, mandrel_profile,
    batches, bells, measurements.
    """
    rng = np.random.default_rng([shop.seed, seed, 21])
    line = line_through(np.asarray(z, float), np.asarray(diameter, float) / 2.0)
    recipe = recipe_from(conditions, shop.mandrels[mandrel_id].habit)
    steel = Steel(revision, spun_on, line, note="recut")
    drawn = effects or BatchEffects.drawn(rng)
    run = Run(
        batch_id,
        spun_on,
        mandrel_id,
        steel,
        recipe,
        drawn,
        Plan(datum=datum),
        n_bells,
        bell_spread=bell_spread,
        blanks=0.0,
    )
    mandrel = replace(shop.mandrels[mandrel_id], revisions=(steel,))
    return {**mandrel_tables({mandrel_id: mandrel}, rng), **run_tables(spin(run, shop.workshop, rng))}
