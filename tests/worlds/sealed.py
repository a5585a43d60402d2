"""The sealed truth beside a book: what asked bells spring back to, with what a user would ask."""

from __future__ import annotations

from dataclasses import asdict, replace

import numpy as np
import pandas as pd

from .kinds.world import lasting, swelling
from .mandrel_lines import SteelLine
from .mandrels import Mandrel
from .recipes import Recipe, drawn_recipe
from .shop_book import Shop, steel_on, written_stations
from .sprung_bell import OwnBell, released

__all__ = ["sealed_tables"]

STATIONS = 200  # of an asked bell, as the sample shops have
LAST_DAY = "2030-01-01"


def sealed_tables(
    shop: Shop, new: list[Mandrel], count: int, rng: np.random.Generator
) -> dict[str, pd.DataFrame]:
    """`queries`, and `profile_NAME`, `conditions_NAME` of `count` asked bells, two in five on mandrels never seen."""
    tables, answers = {}, []
    for i in range(count):
        seen = not (new and i % 5 in (1, 3))
        mandrel = shop.mandrels[(i - i // 5 * 2) % len(shop.mandrels)] if seen else new[(i // 2) % len(new)]
        recipe = drawn_recipe(rng, mandrel, spinners=shop.spinners)
        if shop.swelling and i == count - 1:
            recipe = replace(recipe, back_passes=1)
        name, (_, line) = f"R{i:02d}", steel_on(mandrel, LAST_DAY)
        tables[f"profile_{name}"] = _profile(line)
        row = {k: v for k, v in asdict(recipe).items()}
        tables[f"conditions_{name}"] = pd.DataFrame([{"name": name, **row}])
        answer = _answer(shop, line, recipe, rng)
        answer.insert(0, "seen", seen)
        answer.insert(0, "mandrel", mandrel.mandrel_id)
        answer.insert(0, "name", name)
        answers.append(answer)
    return {"queries": pd.concat(answers, ignore_index=True), **tables}


def _profile(line: SteelLine) -> pd.DataFrame:
    arcs = written_stations(line)
    z, r = np.interp(arcs, line.s, line.z), np.interp(arcs, line.s, line.r)
    return pd.DataFrame({"z_mm": z.round(4), "diameter_mm": (2.0 * r).round(4)})


def _answer(shop: Shop, line: SteelLine, recipe: Recipe, rng: np.random.Generator) -> pd.DataFrame:
    """The gap of the mean over batches, of one batch and of one bell of it; the axial motion of the first (`slide`)."""
    own, one = shop.world.departure(rng, recipe.spinner), OwnBell.drawn(rng, shop.bell_spread)
    swell = swelling(line, recipe, shop.swelling)
    batch = shop.world.springback(line, recipe, own, trimmed=True)
    gaps = [
        released(line, back, bell, wall=recipe.wall_mm, thinning=0.0, swollen=np.interp(back.s, line.s, swell))
        for back, bell in ((lasting(shop.world, line, recipe), OwnBell()), (batch, OwnBell()), (batch, one))
    ]
    plain = gaps[0]
    arcs = np.linspace(0.0, plain.s[-1], STATIONS)

    def at(column: np.ndarray) -> np.ndarray:
        return np.interp(arcs, plain.s, column)

    return pd.DataFrame(
        {
            "s": arcs, "z": at(plain.steel_z), "r": np.interp(arcs, line.s, line.r),
            "gap": at(gaps[0].gap), "gap_batch": at(gaps[1].gap), "gap_bell": at(gaps[2].gap), "slide": at(plain.axial),
        }
    )  # fmt: skip
