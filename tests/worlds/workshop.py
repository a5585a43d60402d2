"""A workshop of a world that does as a report tells it: cuts the steel, spins a batch on it, measures both."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from .bell_sessions import trimmed_rows
from .hands import Row
from .kinds.world import Departure, lasting
from .make import drawn_shop, written
from .mandrel_lines import SteelLine, line_through
from .mandrels import Mandrel
from .recipes import Recipe, drawn_recipe
from .shop_book import steel_on, written_stations
from .sprung_bell import OwnBell, SprungBell, normal_distance, released

__all__ = ["Flare", "Workshop"]

Array = NDArray[np.float64]
TURNING_MM = 0.002  # 1 sd of what the lathe leaves
BELLS = 6
LAST_DAY, FIRST_NEW_DAY = "2025-05-01", "2025-06-02"  # after every day of a drawn book
TOO_LARGE = 0.85  # share of mandrels that are too large; the rest are too small, which no cut can mend


@dataclass
class Flare:
    """One mandrel under work: its steel `line` now and its `revision`, its usual `recipe`, and the `target` line that
    the bell of the `wanted` steel would meet; `too_large` [mm per side] the steel is, below 0 too small."""

    mandrel: Mandrel
    recipe: Recipe
    line: SteelLine
    revision: int
    target: SteelLine
    too_large: float

    @property
    def name(self) -> str:
        """The target's name in the book."""
        return f"{self.mandrel.mandrel_id}-T"


class Workshop:
    """A drawn shop whose targets ask for other bells than its mandrels give, and the hands that follow a verdict."""

    def __init__(self, kind: str, seed: int, cache: Path, *, most: int) -> None:
        self.shop, self.tables, _ = drawn_shop(kind, seed, cache)
        self.random = np.random.default_rng([seed, 91])
        self.flares = [self._flare(mandrel) for mandrel in self.shop.mandrels[:most]]
        self.spun = 0
        for flare in self.flares:
            self._set_target(flare)

    def write(self, folder: Path) -> None:
        """The record book as it stands."""
        written(self.shop, self.tables, {}, folder)

    def error(self, flare: Flare, arcs: Array) -> Array:
        """Error [mm] of the bell that the steel gives under its recipe, at arcs of the target: what lasts."""
        bell = self._usual_bell(flare.line, flare.recipe)
        feet, error = normal_distance(flare.target, bell.z, bell.r, bell.s)
        inner = (feet > 0.0) & (feet < flare.target.s[-1])
        return np.interp(arcs, feet[inner], error[inner], left=np.nan, right=np.nan)

    def cut(self, flare: Flare, z: Array, off: Array) -> None:
        """Turn the steel by `off` (n,) [mm] of radius at stations `z` (n,), measure it, and spin a batch on it."""
        even, wave = TURNING_MM * self.random.normal(size=2)
        slip = even + wave * np.sin(flare.line.s / 15.0)
        taken = np.interp(flare.line.z, z, off)
        turned = np.where(taken > 0.0, np.maximum(taken + slip, 0.0), 0.0)
        flare.line = line_through(flare.line.z[::4], (flare.line.r - turned)[::4])
        flare.revision += 1
        self._measure_steel(flare)
        self.spin(flare)

    def spin(self, flare: Flare) -> None:
        """Spin and measure one batch on the steel as it is."""
        self.spun += 1
        shop, recipe = self.shop, flare.recipe
        batch = f"N{self.spun:03d}"
        own = shop.world.departure(self.random, recipe.spinner)
        datum = str(self.random.choice(list(shop.bench.datums), p=list(shop.bench.datums.values())))
        witness_z = float(np.round(0.8 * recipe.draw_end_mm, 1))
        bells: list[Row] = []
        readings: list[Row] = []
        for order in range(1, BELLS + 1):
            bell_id = f"{batch}-{order:02d}"
            one = OwnBell.drawn(self.random, shop.bell_spread)
            bell = self._bell(flare.line, recipe, own, one, thinning=shop.thinning)
            bells.append({"bell_id": bell_id, "batch_id": batch, "order_in_batch": order,
                          "witness_z_mm": witness_z if datum == "witness" else None,
                          "verdict": "good", "fault": None})  # fmt: skip
            rows = trimmed_rows(bell, shop.bench, datum=datum, witness_z=witness_z)
            readings += [{"bell_id": bell_id, **row} for row in rows]
        said = {**vars(recipe), "batch_id": batch, "spun_on": self._day(), "lot": f"N{self.spun}"}
        self._add("batches", [{**said, "mandrel_id": flare.mandrel.mandrel_id}])
        self._add("bells", bells)
        self._add("measurements", readings)

    def _flare(self, mandrel: Mandrel) -> Flare:
        revision, line = steel_on(mandrel, LAST_DAY)
        large = self.random.random() < TOO_LARGE
        error = float(self.random.uniform(0.05, 0.25) if large else -self.random.uniform(0.04, 0.15))
        recipe = self._usual_recipe(mandrel)
        wanted = line_through(
            line.z[::4] + error * np.sin(line.slope[::4]), line.r[::4] - error * np.cos(line.slope[::4])
        )
        bell = self._usual_bell(wanted, recipe)
        return Flare(mandrel, recipe, line, revision, line_through(bell.z[::4], bell.r[::4]), error)

    def _usual_recipe(self, mandrel: Mandrel) -> Recipe:
        """How its newest batch was spun, what was not written down as drawn anew, nothing passed back."""
        rows = self.tables["batches"]
        newest = rows[rows["mandrel_id"] == mandrel.mandrel_id].iloc[-1]
        recipe = drawn_recipe(self.random, mandrel, spinners=self.shop.spinners)
        known = {
            name: type(value)(newest[name]) for name, value in vars(recipe).items() if pd.notna(newest[name])
        }
        return replace(recipe, **{**known, "back_passes": 0})

    def _bell(
        self, line: SteelLine, recipe: Recipe, own: Departure, one: OwnBell, *, thinning: float = 0.0
    ) -> SprungBell:
        back = self.shop.world.springback(line, recipe, own, trimmed=True)
        return released(line, back, one, wall=recipe.wall_mm, thinning=thinning, swollen=np.zeros_like(back.s))

    def _usual_bell(self, line: SteelLine, recipe: Recipe) -> SprungBell:
        back = lasting(self.shop.world, line, recipe)
        return released(line, back, OwnBell(), wall=recipe.wall_mm, thinning=0.0, swollen=np.zeros_like(back.s))

    def _set_target(self, flare: Flare) -> None:
        outlines = self.tables["target_profile"]
        kept = outlines[outlines["target_id"] != flare.name]
        arcs = written_stations(flare.target)
        z, r = (np.interp(arcs, flare.target.s, column) for column in (flare.target.z, flare.target.r))
        new = pd.DataFrame({"target_id": flare.name, "z_mm": z, "diameter_mm": 2.0 * r})
        self.tables["target_profile"] = pd.concat([kept, new], ignore_index=True)

    def _measure_steel(self, flare: Flare) -> None:
        name = flare.mandrel.mandrel_id
        self._add("mandrels", [{"mandrel_id": name, "revision": flare.revision, "in_force_from": self._day(),
                                "finish": "bare", "steel": "tool steel", "note": None}])  # fmt: skip
        arcs = written_stations(flare.line)
        z, r = (np.interp(arcs, flare.line.s, column) for column in (flare.line.z, flare.line.r))
        read = 2.0 * (r + TURNING_MM * self.random.normal(size=len(r)))
        told = {"mandrel_id": name, "revision": flare.revision, "z_mm": z, "diameter_mm": read}
        self._add("mandrel_profile", pd.DataFrame(told).to_dict("records"))

    def _add(self, table: str, rows: list[Row]) -> None:
        self.tables[table] = pd.concat([self.tables[table], pd.DataFrame(rows)], ignore_index=True)

    def _day(self) -> str:
        return str(np.datetime64(FIRST_NEW_DAY) + 7 * self.spun)
