"""One invented shop and what it would truly do: the gap any mandrel would give, the error of any bell."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from scipy.spatial import cKDTree

from springfit.demo.keeping.pages import Target
from springfit.demo.keeping.runs import Workshop
from springfit.demo.spinning.families import BellLine, line_through
from springfit.demo.spinning.recipe import Recipe, recipe_from
from springfit.demo.spinning.spun import BatchEffects, BellEffects, Press
from springfit.demo.spinning.true_steel import Mandrel

__all__ = ["Shop", "TrueGap", "true_error", "true_gap"]


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
        """What fills blanks in conditions for this line: the habit of the shop's nearest mandrel by rim."""
        near = min(self.mandrels.values(), key=lambda m: abs(m.revisions[0].line.r[-1] - line.r[-1]))
        end = 2.0 * float(line.r[-1])
        return replace(
            near.habit,
            blank_rim_mm=min(near.habit.blank_rim_mm, end),
            finished_rim_mm=min(near.habit.finished_rim_mm, end - 10.0),
        )


@dataclass(frozen=True, eq=False)
class TrueGap:
    """The hidden gap along a mandrel [mm], all (n,): on the steel, the motion (tail matched), the bell."""

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
    """What a mandrel of profile `z`, `diameter` [mm] truly gives under `conditions`, a row of the book's
    names.

    Spinner and lot count with their own factors where the shop knows them; `batch` and `bell` effects are
    none unless given.
    """
    line = line_through(np.asarray(z, float), np.asarray(diameter, float) / 2.0)
    recipe = recipe_from(conditions, shop.habit(line))
    effects = shop.workshop.own(recipe, batch or BatchEffects())
    press = Press(shop.workshop.press.spring)  # a shelf of its own: this steel is not kept
    one = press.press(line, recipe, effects, stage=stage).bell(effects, bell or BellEffects())
    keep = np.append(np.arange(0, len(one.arc) - 1, 6), len(one.arc) - 1)  # every 1.5 mm, and the rim
    s, steel_z, gap, axial, z_bell, r_bell = (
        a[keep] for a in (one.arc, one.steel_z, one.gap, one.axial, one.z, one.r)
    )
    return TrueGap(s, steel_z, line.points_at(s)[1], gap, axial, z_bell, r_bell)


def true_error(
    shop: Shop, target_id: str, z: np.ndarray, diameter: np.ndarray, conditions: Any
) -> tuple[np.ndarray, np.ndarray]:
    """Arcs on the target (n,) and the normal distance there to the true bell [mm], + when it is larger."""
    bell = true_gap(shop, z, diameter, conditions)
    target = shop.targets[target_id].line
    fine = np.arange(0.0, target.length, 0.05)
    at_z, at_r, slope = target.points_at(fine)
    _, near = cKDTree(np.column_stack([at_z, at_r])).query(np.column_stack([bell.bell_z, bell.bell_r]))
    off = -(bell.bell_z - at_z[near]) * np.sin(slope[near]) + (bell.bell_r - at_r[near]) * np.cos(slope[near])
    inner = (near > 0) & (near < len(fine) - 1)
    return fine[near][inner], off[inner]
