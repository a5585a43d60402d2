"""Whole shops whose steel does not stay as it was measured: a facet that wears, a trim tool that cut in, one as ever.

Three mandrels, a facet on each, measured once when the shop begins and never again. M1 loses a smooth dent at its
facet, deeper with every bell that goes over it, whoever spins; M2 has a narrow ring by its trim line from one batch on;
M3 stays. Every batch is pressed on the steel as it is by then, as the demo's own 2-D solid does it, while the book
keeps the steel of the first day.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from springfit.demo.keeping.pages import gauge_table, mandrel_tables, run_tables
from springfit.demo.keeping.runs import Rows, Run, spin
from springfit.demo.keeping.sessions import Plan
from springfit.demo.many_shops import make_shop
from springfit.demo.shop import Shop
from springfit.demo.spinning.families import BellLine, with_dishes
from springfit.demo.spinning.spun import BatchEffects
from springfit.demo.spinning.true_steel import Mandrel, Steel

__all__ = ["LEARNED", "MANDRELS", "SCARRED", "STAYS", "WEARS", "Life", "life_of", "mandrel_of", "tables_of"]

MANDRELS = WEARS, SCARRED, STAYS = "M1", "M2", "M3"
LEARNED, WATCHED = 4, 8  # batches a mandrel: learned from, and watched after that
BELLS = (4, 8)  # a batch, at least and at most
FACET_WIDTH_MM, FACET_DEPTH_MM = (24.0, 40.0), (0.06, 0.10)
WORN_MM = (0.02, 0.20)  # over the shop's life
SCAR_WIDTH_MM, SCAR_DEPTH_MM, SCAR_BACK_MM = (4.0, 10.0), (0.05, 0.20), (6.0, 35.0)
FLARE_MM = 20.0  # of arc from where drawing stops, and back from the rim, that facets keep clear of
STEP_MM = 3.175  # of a faceted mandrel's stations, as the demo's


@dataclass(frozen=True)
class Worn:
    """The facet of M1 at `arc` that wears: `width` of the dent, and its depth a bell, [mm]."""

    arc: float
    width: float
    per_bell: float


@dataclass(frozen=True)
class Scar:
    """The ring cut into M2 at `arc`, `width` and `depth` [mm], from its batch `since` on."""

    arc: float
    width: float
    depth: float
    since: str


@dataclass(frozen=True)
class Life:
    """What becomes of a shop's steel: its `mandrels` as first measured, bells by batch in `counts`, oldest first, the
    arc of each mandrel's facet [mm], and the two that do not stay."""

    drawn: Shop
    mandrels: dict[str, Mandrel]
    counts: dict[str, int]
    facets: dict[str, float]
    worn: Worn
    scar: Scar

    @property
    def first(self) -> list[str]:
        """The batches that are learned from before any is watched."""
        return list(self.counts)[: LEARNED * len(self.mandrels)]

    def spun_by(self, batch: str) -> int:
        """Bells that the mandrel of a batch has made when that batch is done."""
        return sum(n for name, n in self.counts.items() if mandrel_of(name) == mandrel_of(batch) and name <= batch)

    def steel(self, batch: str) -> BellLine:
        """The steel as it is in the middle of a batch."""
        name = mandrel_of(batch)
        line = self.mandrels[name].revisions[0].line
        if name == WEARS:
            deep = self.worn.per_bell * (self.spun_by(batch) - self.counts[batch] / 2.0)
            return with_dishes(line, ((self.worn.arc, self.worn.width, deep),))
        if name == SCARRED and batch >= self.scar.since:
            return with_dishes(line, ((self.scar.arc, self.scar.width, self.scar.depth),))
        return line


def mandrel_of(batch: str) -> str:
    """The mandrel in a batch's name."""
    return batch.partition("-")[0]


def life_of(seed: int, *, batches: int = LEARNED + WATCHED, only: tuple[str, ...] = MANDRELS) -> Life:
    """The life of the shop of a seed, `batches` on each of its mandrels, or of `only` some of them."""
    rng = np.random.default_rng([seed, 83])
    drawn = make_shop(seed, batches=4, mandrels=len(MANDRELS), bells=1, story="right", steady=True, blanks=0.0)
    faceted = {name: _faceted(drawn.mandrels[name], rng) for name in MANDRELS}
    counts = {f"{m}-{i + 1:02d}": int(rng.integers(BELLS[0], BELLS[1] + 1)) for i in range(batches) for m in MANDRELS}
    bells = sum(count for name, count in counts.items() if mandrel_of(name) == WEARS)
    _, arc, width = faceted[WEARS]
    worn = Worn(arc, width * rng.uniform(0.6, 1.1), rng.uniform(*WORN_MM) / bells)
    since = f"{SCARRED}-{int(rng.integers(3, batches - 2)) + 1:02d}"
    at = _rim_arc(faceted[SCARRED][0]) - rng.uniform(*SCAR_BACK_MM)
    scar = Scar(at, rng.uniform(*SCAR_WIDTH_MM), rng.uniform(*SCAR_DEPTH_MM), since)
    kept = {batch: count for batch, count in counts.items() if mandrel_of(batch) in only}
    return Life(
        drawn, {name: faceted[name][0] for name in only}, kept, {name: faceted[name][1] for name in only}, worn, scar
    )


def tables_of(life: Life, seed: int) -> dict[str, pd.DataFrame]:
    """The tables of the book [mm]: mandrels in turn, a batch every eleven days, spun as each mandrel's habit is."""
    rng, rows = np.random.default_rng([seed, 89]), Rows()
    workshop = life.drawn.workshop
    for number, (batch, bells) in enumerate(life.counts.items()):
        mandrel = life.mandrels[mandrel_of(batch)]
        people = workshop.people
        recipe = replace(
            mandrel.habit, spinner=str(rng.choice(list(people.spinners))), lot=str(rng.choice(list(people.lots)))
        )
        plan = Plan(datum=str(rng.choice(["witness", "witness", "tail", "rim"])), rings=number % 3 == 0)
        day = str(np.datetime64("2023-01-09") + 11 * number)
        steel = replace(mandrel.revisions[0], line=life.steel(batch))
        effects = BatchEffects.drawn(rng)
        run = Run(batch, day, mandrel.mandrel_id, steel, recipe, effects, plan, bells, blanks=0.0)
        rows.add(spin(run, workshop, rng))
    return {**mandrel_tables(life.mandrels, rng), **run_tables(rows), **gauge_table(workshop.gauges)}


def _rim_arc(mandrel: Mandrel) -> float:
    return mandrel.revisions[0].line.arc_at_radius(mandrel.habit.finished_rim_mm / 2.0)


def _faceted(mandrel: Mandrel, rng: np.random.Generator) -> tuple[Mandrel, float, float]:
    """The mandrel with one facet in its flare, a dish or a ridge; the facet's arc and width [mm]."""
    line = mandrel.revisions[0].line
    first, last = float(line.arc_at_z(mandrel.habit.draw_end_mm)) + FLARE_MM, _rim_arc(mandrel) - FLARE_MM
    arc, width = rng.uniform(first, last), rng.uniform(*FACET_WIDTH_MM)
    depth = rng.uniform(*FACET_DEPTH_MM) * rng.choice([-1.0, 1.0])
    steel = Steel(0, mandrel.revisions[0].in_force_from, with_dishes(line, ((arc, width, depth),)))
    return replace(mandrel, revisions=(steel,), step_mm=STEP_MM), arc, width
