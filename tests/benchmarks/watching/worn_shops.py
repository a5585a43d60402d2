"""Whole shops whose steel wears or is cut into, watched batch by batch: how much is gone when it is told, and what is
told of steel that stays.

    python -m tests.benchmarks.watching.worn_shops FIRST SHOPS [KEPT]

KEPT is a folder that the shops' books and models are kept in: with them a change of the watch alone is tried in some
ten seconds a shop. It must be emptied after a change of the demo's bells or of learning.

Each shop (`mandrels_that_wear`) is learned when it has made four batches a mandrel and asked about its steel after
each of its batches, in two ways: by that version alone, and by one that has learned every batch but the newest, worn
bells among them. Developed on seeds 900 to 913, and 600 to 605 were looked at; those that score are 610 and up.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from springfit.demo.keeping.book_sheets import write_book
from springfit.learning.experience import Experience, experience_of
from springfit.learning.faults.screening import of_this_steel
from springfit.learning.fitting import fit_model
from springfit.learning.model import SpringModel
from springfit.learning.versions.store import ModelStore
from springfit.records import Book, read_book
from springfit.records.part import part_of
from springfit.watching.batch_states import batch_states
from springfit.watching.batches.known_before import KnownBefore, known_before_each, known_by
from springfit.watching.batches.steel_line import facets_of_steel
from springfit.watching.judged_batches import JudgedBatch, judged_batch
from springfit.watching.wear import LEAST_BATCHES, Wear, worn_places
from tests.benchmarks.watching.mandrels_that_wear import (
    MANDRELS,
    SCARRED,
    STAYS,
    WEARS,
    Life,
    life_of,
    mandrel_of,
    tables_of,
)

ASKED_MM, GRACE_BELLS = 0.05, 8  # a worn facet is to be found before so much is gone, or within so many bells of it
BESIDE_MM = 16.0  # of arc from a worn facet's or a scar's middle within which it is that which was told
SHOWS = 3.8  # deviate that a drift should have when it is due: nine in ten of those are past a limit of 2.5
WAYS = ("learned once", "learned after each")
Tables = Callable[[Life, int], dict[str, pd.DataFrame]]


def book_of(life: Life, seed: int, place: Path, tables: Tables = tables_of) -> tuple[Book, SpringModel]:
    """The book of a shop (its `tables`) and the model of its first batches; from `place` where they are there, else put
    there."""
    store = ModelStore(place / "models")
    if not store.versions():
        write_book(tables(life, seed), place / "book", units="mm")
        fit = fit_model(experience_of(part_of(read_book(place / "book")[0], life.first)))
        assert fit is not None
        store.save(fit.model("v0001"))
    return read_book(place / "book")[0], store.load("v0001")


def judged(book: Book, model: SpringModel, life: Life) -> dict[str, list[JudgedBatch]]:
    """Every batch of the shop judged, oldest first, in both ways."""
    made = of_this_steel(experience_of(book, hand=model.hand, known=model.layout.columns))
    order = list(life.counts)
    each = known_before_each(made, model, order)
    learned = {batch.batch_id for batch in model.batches}
    once = {batch: each[batch] if batch in learned else known_by(model) for batch in order}
    facets = {name: facets_of_steel(made.steel[name, 0], *book.profile(name, 0)) for name in life.mandrels}

    def all_of(known: Mapping[str, KnownBefore]) -> list[JudgedBatch]:
        return [judged_batch(made, _bells(made, b), known[b], model, facets[mandrel_of(b)]) for b in order]

    return {WAYS[0]: all_of(once), WAYS[1]: all_of(each)}


def _bells(made: Experience, batch: str) -> list:
    return [bell for bell in made.bells if bell.batch_id == batch]


@dataclass(frozen=True)
class Asked:
    """One mandrel asked about after one of its batches: `bells` on it by then, what was told of its steel, by all its
    batches or by the newest alone."""

    batch: str
    bells: int
    told: tuple[Wear, ...]


def asked_of(mandrel: str, batches: Sequence[JudgedBatch], life: Life) -> Iterator[Asked]:
    """A mandrel asked about after each of its batches."""
    mine = [one for one in batches if one.mandrel_id == mandrel]
    for count, newest in enumerate(mine, 1):
        bells = life.spun_by(newest.batch_id)
        alone = tuple(
            Wear("this batch alone", mandrel, 0, sum(one.at) / 2.0, one.size, one.size_sd, bells, "", 0.0)
            for one in newest.named if one.name == "worn_facet"
        )  # fmt: skip
        yield Asked(newest.batch_id, bells, (*worn_places(mine[:count], life.counts), *alone))


def of_wear(asked: Sequence[Asked], batches: Sequence[JudgedBatch], life: Life) -> tuple[str, Counter[str]]:
    """A line on the worn facet, and marks."""
    rate = life.worn.per_bell
    due = ASKED_MM / rate + GRACE_BELLS
    shown = shows(batches, life, due)
    kind = "worn, readings could show it" if shown >= SHOWS else "worn, readings too unsure"
    for one in asked:
        here = [wear for wear in one.told if wear.kind != "trim_scar" and abs(wear.arc - life.worn.arc) < BESIDE_MM]
        if here:
            best, gone = max(here, key=lambda wear: -wear.deviate), rate * one.bells
            late = one.bells - ASKED_MM / rate
            in_time = gone <= ASKED_MM or late <= GRACE_BELLS
            line = f"told at {gone:.3f} mm, {late:+.0f} bells past 0.05, as {best.kind} {best.change:+.3f}"
            marks = Counter({"worn: told": 1, f"{kind}: told {'in time' if in_time else 'late'}": 1})
            return f"{line}±{best.change_sd:.3f}, could show {shown:.1f}", marks
    last = asked[-1].bells
    state = f"{kind}: not told, {'overdue' if last > due else 'life ended first'}"
    return f"not told by {rate * last:.3f} mm, could show {shown:.1f}", Counter({state: 1})


def shows(batches: Sequence[JudgedBatch], life: Life, due: float) -> float:
    """Deviate that the drift should have when it is due, the readings being as sure as they are said to be."""
    mine = [one for one in batches if one.mandrel_id == WEARS and life.spun_by(one.batch_id) <= due]
    read = [(life.spun_by(one.batch_id) - life.counts[one.batch_id] / 2.0, _sd_at(one, life.worn.arc)) for one in mine]
    bells, sd = np.array([pair for pair in read if np.isfinite(pair[1])]).reshape(-1, 2).T
    if len(bells) < LEAST_BATCHES:
        return 0.0
    middle = np.average(bells, weights=sd**-2)
    return float(life.worn.per_bell * np.sqrt(np.sum((bells - middle) ** 2 / sd**2)))


def _sd_at(one: JudgedBatch, arc: float) -> float:
    if one.places is None or not len(one.places.arc):
        return float("nan")
    near = int(np.argmin(np.abs(one.places.arc - arc)))
    return float(one.places.sd[near]) if abs(one.places.arc[near] - arc) < BESIDE_MM / 2.0 else float("nan")


def of_scar(asked: Sequence[Asked], life: Life) -> tuple[str, Counter[str]]:
    """A line on the scar, as last told of, and marks."""
    scar = life.scar
    marks, line = Counter({"scars": 1}), f"scar {scar.depth:.2f} deep, {scar.width:.0f} wide"
    told = [
        (one.batch, wear) for one in asked if one.batch >= scar.since
        for wear in one.told if abs(wear.arc - scar.arc) < BESIDE_MM
    ]  # fmt: skip
    if not told:
        return f"{line}: not told", marks
    last = told[-1][1]
    named, dated = last.kind == "trim_scar", last.since == scar.since
    marks += Counter({"scars told": 1, "scars named so": int(named), "scars named and dated": int(dated)})
    said = f"told at {told[0][0]}, last as {last.kind} {last.since} {last.change:+.3f}"
    return f"{line} since {scar.since}: {said}", marks


def false_ones(asked: Mapping[str, Sequence[Asked]], life: Life) -> tuple[str, Counter[str]]:
    """What was told of steel that had not moved: all of M3, M2 before its scar, both others away from theirs."""
    marks, lines = Counter[str](), []
    for mandrel, several in asked.items():
        for one in several:
            scarred = mandrel == SCARRED and one.batch >= life.scar.since
            moved = life.worn.arc if mandrel == WEARS else life.scar.arc if scarred else float("nan")
            false = [wear for wear in one.told if not abs(wear.arc - moved) < 2.0 * BESIDE_MM]
            whose = "unworn steel" if mandrel == STAYS or (mandrel == SCARRED and not scarred) else "beside"
            marks[f"{whose}: asked"] += 1
            marks[f"{whose}: told falsely"] += bool(false)
            lines += [f"{one.batch} {wear.kind} {wear.arc:.0f} {wear.change:+.3f}" for wear in false]
        if mandrel == STAYS:
            marks["unworn mandrels"] += 1
            marks["unworn mandrels ever told of"] += any(one.told for one in several)
    return "; ".join(lines), marks


def of_states(batches: Sequence[JudgedBatch], life: Life) -> Counter[str]:
    """Batches on unworn steel that were not learned from, and how many are not usual."""
    marks = Counter[str]()
    for state in batch_states(batches)[len(life.first) :]:
        name = state.judged.batch_id
        if mandrel_of(name) == STAYS or (mandrel_of(name) == SCARRED and name < life.scar.since):
            marks += Counter({"sound batches": 1, "sound batches not usual": state.state != "usual"})
    return marks


def scored(seed: int, kept: Path) -> dict[str, Counter[str]]:
    """Marks of one shop in both ways, its lines printed."""
    begun, life = time.monotonic(), life_of(seed)
    book, model = book_of(life, seed, kept / f"worn-{seed}")
    marks: dict[str, Counter[str]] = {}
    for way, batches in judged(book, model, life).items():
        asked = {mandrel: list(asked_of(mandrel, batches, life)) for mandrel in MANDRELS}
        parts = of_wear(asked[WEARS], batches, life), of_scar(asked[SCARRED], life), false_ones(asked, life)
        slope = np.degrees(np.interp(life.worn.arc, *_slope(life)))
        print(f"  {seed} {way}, facet at {slope:.0f} degrees, {life.worn.per_bell:.4f} a bell")
        for line, _ in parts:
            print(f"     {line or 'nothing false'}")
        marks[way] = sum((counts for _, counts in parts), of_states(batches, life))
    print(f"shop {seed}: {time.monotonic() - begun:.0f} s", flush=True)
    return marks


def _slope(life: Life) -> tuple[np.ndarray, np.ndarray]:
    line = life.mandrels[WEARS].revisions[0].line
    return line.s, line.slope


def main(first: int, shops: int, kept: Path) -> None:
    """A few lines a shop, then the totals in both ways."""
    total = {way: Counter[str]() for way in WAYS}
    for seed in range(first, first + shops):
        for way, marks in scored(seed, kept).items():
            total[way] += marks
    for way in WAYS:
        print(way)
        for name in sorted(total[way]):
            print(f"  {name:40s} {total[way][name]}")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as thrown_away:
        main(int(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3]) if len(sys.argv) > 3 else Path(thrown_away))
