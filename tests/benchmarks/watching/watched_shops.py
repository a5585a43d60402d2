"""Faults planted in the newest batches of invented shops, and what the watch says of each.

    python -m tests.benchmarks.watching.watched_shops FIRST SHOPS [KEPT]

KEPT is a folder that the shops' books and models are kept in: with them a change of the watch alone is tried in seconds
a shop. It must be emptied after a change of the demo's bells or of learning.

A shop has eight sound batches on two mandrels to learn from, as its mandrels' habits are, lots and spinners apart. Then
come batches that were not learned: sound ones with another speed, lubricant or day, one whose last pass ran toward the
tail unlogged, one of sheet a tenth thicker than written, one of sheet 30 % softer. The shops' bells come from the
demo's own 2-D solid.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
from scipy.stats import t as student

from springfit.demo.keeping.book_sheets import added, write_book
from springfit.demo.keeping.pages import run_tables
from springfit.demo.keeping.runs import Run, spin
from springfit.demo.keeping.sessions import Plan
from springfit.demo.many_shops import make_shop
from springfit.demo.shop import Shop
from springfit.demo.spinning.spun import BatchEffects
from springfit.learning.experience import experience_of
from springfit.learning.faults.screening import of_this_steel
from springfit.learning.fitting import fit_model
from springfit.learning.model import SpringModel
from springfit.learning.versions.store import ModelStore
from springfit.records import Book, read_book
from springfit.records.part import part_of
from springfit.watching.batch_states import BatchState, batch_states
from springfit.watching.batches.known_before import known_by
from springfit.watching.judged_batches import judged_batch

BATCHES, BELLS, SOUND = 8, 5, 4
THICKER, SOFTER = 1.10, 0.70
STRENGTH_OF = ("speed", "lubricant", "weekday")


def with_new_batches(shop: Shop, seed: int, folder: Path) -> Book:
    """The shop's book with its new batches; their ids begin with what they are."""
    rng = np.random.default_rng([seed, 77])
    tables = shop.tables
    for name in (*(f"sound{i}" for i in range(SOUND)), "hump", "wall", "soft"):
        mandrel = shop.mandrels[f"M{int(rng.integers(1, len(shop.mandrels) + 1))}"]
        recipe = replace(
            mandrel.habit, spinner=str(rng.choice(list(shop.workshop.people.spinners))),
            lot=str(rng.choice(list(shop.workshop.people.lots))), spindle_rpm=int(rng.choice([600, 1000, 1500])),
            lubricant=str(rng.choice(["soap", "tallow", "beeswax"])),
        )  # fmt: skip
        effects = BatchEffects.drawn(rng)
        written = recipe
        if name == "hump":
            recipe = replace(recipe, back_passes=1)
        if name == "wall":
            recipe = replace(recipe, wall_mm=recipe.wall_mm * THICKER)
        if name == "soft":
            effects = replace(effects, strength=effects.strength * SOFTER)
        day = str(np.datetime64("2024-03-01") + int(rng.integers(0, 60)))
        datum = str(rng.choice(["witness", "tail", "rim"]))
        run = Run(name, day, mandrel.mandrel_id, mandrel.on(day), recipe, effects, Plan(datum=datum), BELLS, blanks=0.0)
        rows = run_tables(spin(run, shop.workshop, rng))
        rows["batches"]["back_passes"], rows["batches"]["wall_mm"] = written.back_passes, written.wall_mm
        rows["bells"]["wall_mm"] = np.nan
        tables = added(tables, rows)
    write_book(tables, folder, units="mm")
    return read_book(folder)[0]


def shop_of(seed: int, kept: Path) -> tuple[Book, list[str], SpringModel]:
    """The book of a shop, its batches oldest first, and the model of the first of them; from `kept` where it is there,
    else made and put there."""
    place, store = kept / f"shop-{seed}", ModelStore(kept / f"shop-{seed}" / "models")
    if not store.versions():
        shop = make_shop(seed, batches=BATCHES, bells=BELLS, story="right", steady=True, blanks=0.0)
        book = with_new_batches(shop, seed, place / "book")
        store.save(learned(book, list(book.batches["batch_id"].astype(str))[:BATCHES]))
    book = read_book(place / "book")[0]
    return book, list(book.batches["batch_id"].astype(str)), store.load("v0001")


def learned(book: Book, batches: list[str]) -> SpringModel:
    """A model of these batches, its structures in equal parts: validation is not what is measured here."""
    fit = fit_model(experience_of(part_of(book, batches)))
    assert fit is not None
    return fit.model("v0001")


def watched(book: Book, model: SpringModel, batches: list[str]) -> list[BatchState]:
    """What the watch says of batches that `model` has not learned."""
    made = of_this_steel(experience_of(part_of(book, batches), known=model.layout.columns))
    known, found = known_by(model), list[BatchState]()
    for batch in batches:
        bells = [bell for bell in made.bells if bell.batch_id == batch]
        found += batch_states([judged_batch(made, bells, known, model, ())])
    return found


def counted(state: BatchState) -> Counter[str]:
    """Marks of one batch."""
    one, counts = state.judged, Counter[str]()
    kind = one.batch_id.rstrip("0123456789")
    humps = {named.bell_id for named in one.named if named.name == "throat_hump"}
    groups = [set(named.group) for named in one.named if not named.bell_id]
    counts[f"{kind} batches"] += 1
    counts[f"{kind} bells"] += len(one.bells)
    counts[f"{kind} bells with a hump named"] += len(humps)
    counts[f"{kind} not usual"] += state.state != "usual"
    counts[f"{kind} named wall or its group"] += any("wrong_wall" in group for group in groups)
    counts[f"{kind} named temper or its group"] += any("temper" in group for group in groups)
    counts[f"{kind} named at all"] += bool(one.named)
    # Whether the size alone says so, two-sided by Student's t: at the watch's own rate, and at once in twenty.
    if one.size:
        chance = 2.0 * float(student.sf(abs(one.size.size) / one.size.sd, one.size.freedom))
        counts[f"{kind} size beyond 1 in 100"] += chance < 0.01
        counts[f"{kind} size beyond 1 in 20"] += chance < 0.05
    return counts


def told(state: BatchState) -> str:
    """One batch on a line: its state, mean and spread scores by zone, what was named."""
    one = state.judged
    named = [(n.name, n.bell_id[-2:], round(n.margin, 1), "|".join(n.group)) for n in one.named]
    size = f"size {one.size.size:+.2f}/{one.size.sd:.2f} seen {one.size.seen():.2f}" if one.size else ""
    scores = (f"{s.zone[:3]}{s.score:+.1f}/{s.spread_score:+.1f}" for s in one.zones)
    return f"{one.batch_id:7s} {state.state:6s} {' '.join(scores)} {size} {named}"


def main(first: int, shops: int, kept: Path) -> None:
    """A line a batch, then the totals."""
    total: Counter[str] = Counter()
    for seed in range(first, first + shops):
        begun = time.monotonic()
        book, names, model = shop_of(seed, kept)
        for state in watched(book, model, names[BATCHES:]):
            total += counted(state)
            print(f"  {seed} {told(state)}", flush=True)
        print(f"shop {seed}: {time.monotonic() - begun:.0f} s", flush=True)
    for name in sorted(total):
        print(f"{name:40s} {total[name]}")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as thrown_away:
        kept_in = Path(sys.argv[3]) if len(sys.argv) > 3 else Path(thrown_away)
        main(int(sys.argv[1]), int(sys.argv[2]), kept_in)
