"""Write a shop of an invented world with its sealed truth: python -m tests.worlds.make KIND SEED OUT."""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
import pandas as pd

from .bell_sessions import drawn_bench
from .kinds.laid_world import LaidWorld
from .kinds.shares_world import SharesWorld
from .kinds.world import World
from .mandrels import drawn_mandrels
from .sealed import sealed_tables
from .shop_book import INCH, Shop, ShopSize, book_tables

__all__ = ["KINDS", "drawn_shop", "main", "written"]

KINDS = ("laid", "standoff", "shares")
MOST_MANDRELS, NEW_MANDRELS = 7, 2
PLACES = {"mm": 4, "in": 5}
LENGTHS = "_mm"


def drawn_shop(kind: str, seed: int, cache: Path) -> tuple[Shop, dict[str, pd.DataFrame], dict[str, pd.DataFrame]]:
    """A shop, its book and its sealed truth, lengths in mm; `cache` keeps the laying runs.

    Laying runs cost seconds: a shop of a laid kind holds about thirty different ones.
    """
    if kind not in KINDS:
        raise ValueError(f"kind: found {kind!r}, expected one of {', '.join(KINDS)}")
    rng = np.random.default_rng([seed, KINDS.index(kind), 20])
    people = ("P1", "P2", "P3")[: int(rng.integers(1, 4))]
    world = _world(kind, rng, people, cache)
    seen = int(rng.integers(3, MOST_MANDRELS + 1))
    mandrels = drawn_mandrels(rng, seen + NEW_MANDRELS)
    inch, back = bool(rng.random() < 0.35), rng.random() < 0.6
    size, asked = _size(kind, rng)
    shop = Shop(
        world, mandrels[:seen], drawn_bench(rng, inch=inch), people, size, inch,
        swelling=float(rng.uniform(0.3, 0.45)) if back else 0.0,
        bell_spread=float(rng.uniform(0.03, 0.05)), thinning=max(float(rng.uniform(-0.05, 0.02)), 0.0),
    )  # fmt: skip
    return shop, book_tables(shop, rng), sealed_tables(shop, mandrels[seen:], asked, rng)


def written(shop: Shop, book: dict[str, pd.DataFrame], sealed: dict[str, pd.DataFrame], out: Path) -> None:
    """The book's files in the shop's own units, the truth in mm."""
    (out / "truth").mkdir(parents=True, exist_ok=True)
    unit = "in" if shop.inch else "mm"
    for name, table in book.items():
        _in_unit(table, unit).to_csv(out / f"{name}.csv", index=False)
    for name, table in sealed.items():
        table.to_csv(out / "truth" / f"{name}.csv", index=False)


def main(words: list[str] | None = None) -> None:
    """Read the command line and write the shop."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kind", choices=KINDS)
    parser.add_argument("seed", type=int)
    parser.add_argument("out", type=Path)
    parser.add_argument("--cache", type=Path, help="folder of finished laying runs (default: beside OUT)")
    asked = parser.parse_args(words)
    cache = asked.cache or asked.out.resolve().parent / "laying-runs"
    shop, book, sealed = drawn_shop(asked.kind, asked.seed, cache)
    written(shop, book, sealed, asked.out)
    print(f"{asked.out}: {len(book['batches'])} batches, {len(book['bells'])} bells, "
          f"{len(book['measurements'])} readings, {sealed['queries']['name'].nunique()} asked bells")  # fmt: skip


def _world(kind: str, rng: np.random.Generator, people: tuple[str, ...], cache: Path) -> World:
    if kind == "shares":
        return SharesWorld.drawn(rng)
    differ = "size" if kind == "laid" else "shape"
    return LaidWorld.drawn(rng, batches_differ=differ, spinners=people, cache=cache)


def _size(kind: str, rng: np.random.Generator) -> tuple[ShopSize, int]:
    """A shop's size and how many bells are asked of it."""
    if kind == "laid":
        return ShopSize(recipes=17, batches=int(rng.integers(18, 31)), spun_stage=2), 12
    if kind == "standoff":
        batches = int(rng.integers(13, 18))
        return ShopSize(recipes=batches, batches=batches, spun_stage=2), 8
    batches = int(rng.integers(10, 31))
    return ShopSize(recipes=max(batches - int(rng.integers(0, 6)), 8), batches=batches, spun_stage=batches // 3), 16


def _in_unit(table: pd.DataFrame, unit: str) -> pd.DataFrame:
    """The table with its lengths in a unit, rounded as written."""
    columns = {}
    for name in table.columns:
        if not str(name).endswith(LENGTHS):
            columns[name] = table[name]
            continue
        values = pd.to_numeric(table[name]) / (INCH if unit == "in" else 1.0)
        columns[str(name).removesuffix("mm") + unit] = values.round(PLACES[unit])
    return pd.DataFrame(columns)


if __name__ == "__main__":
    main()
