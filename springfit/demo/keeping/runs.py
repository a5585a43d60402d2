"""One batch run: spin its bells on the steel there is, measure them, write the rows of the record book."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field, replace

import numpy as np

from springfit.demo.keeping.habits import People, blanked
from springfit.demo.keeping.measuring import Gauge, Hands
from springfit.demo.keeping.sessions import Plan, measured
from springfit.demo.spinning.recipe import Recipe
from springfit.demo.spinning.spun import BatchEffects, BellEffects, Press, SpunBell
from springfit.demo.spinning.true_steel import Steel

__all__ = ["Rows", "Run", "Workshop", "spin"]

FAULT_WORDS = {"split": "split at the seam", "wrinkle": "wrinkled at the rim"}  # scrap: never measured
SCRIBED_AT = 0.78  # of the finished bell's arc: where the witness line is drawn
UNSEATED_MM = -1.6  # of a bell that caught on its way home: past any seat of a hand; planted
OVAL_MM = {"yes": 0.025, "no": 0.05}  # at the rim, per side: a loose bolt lets the mandrel run out


@dataclass(frozen=True)
class Run:
    """What is to be spun; `spun_bells` are measured before trimming too.

    `faults` by order in batch: split and wrinkle (scrap), unseated, halved (a radius for each diameter).
    """

    batch_id: str
    spun_on: str
    mandrel_id: str
    steel: Steel
    recipe: Recipe
    effects: BatchEffects
    plan: Plan = field(default_factory=Plan)
    bells: int = 6
    spun_bells: int = 1
    bell_spread: float = 1.0
    faults: dict[int, str] = field(default_factory=dict)
    blanks: float = 0.06
    note: str | None = None


@dataclass(frozen=True)
class Workshop:
    """What every run shares: people and their sheet, gauges, the press that releases bells."""

    people: People
    gauges: dict[str, Gauge]
    press: Press

    def own(self, recipe: Recipe, effects: BatchEffects) -> BatchEffects:
        """The effects with this shop's factor of the recipe's spinner and lot on the strength."""
        return replace(effects, strength=effects.strength * self.people.factor(recipe))


@dataclass
class Rows:
    """Rows of three tables as they are written, and each bell's hidden effects."""

    batches: list[dict] = field(default_factory=list)
    bells: list[dict] = field(default_factory=list)
    measurements: list[dict] = field(default_factory=list)
    effects: dict[str, BellEffects] = field(default_factory=dict)

    def add(self, other: Rows) -> None:
        """Take in the rows of another run."""
        self.batches += other.batches
        self.bells += other.bells
        self.measurements += other.measurements
        self.effects.update(other.effects)


def spin(run: Run, shop: Workshop, rng: np.random.Generator) -> Rows:
    """Spin and measure one run; the same `rng` state gives the same rows."""
    effects = shop.own(run.recipe, run.effects)
    trimmed = shop.press.press(run.steel.line, run.recipe, effects)
    spun = shop.press.press(run.steel.line, run.recipe, effects, stage="spun") if run.spun_bells else None
    scribed = np.interp(SCRIBED_AT * trimmed.line.length, trimmed.line.s, trimmed.line.z)
    witness = float(run.plan.rounded(scribed))
    hands = Hands(rng)
    rows = Rows(batches=[_batch_row(run, rng)])
    for order in range(1, run.bells + 1):
        bell_id = f"{run.batch_id}-{order:02d}"
        bell = BellEffects.drawn(rng, spread=run.bell_spread, oval_mm=OVAL_MM[run.recipe.bolt_checked])
        rows.effects[bell_id] = bell
        fault = run.faults.get(order, "")
        readings: list[dict] = []
        final = trimmed.bell(effects, bell)
        if fault not in FAULT_WORDS:
            if spun is not None and order <= run.spun_bells:
                readings += _session(spun.bell(effects, bell), "spun", run, hands, shop, witness, "")
            readings += _session(final, "trimmed", run, hands, shop, witness, fault)
        rows.bells.append(_bell_row(bell_id, run, order, fault, final, witness, rng))
        rows.measurements += [{"bell_id": bell_id, **reading} for reading in readings]
    return rows


def _session(
    bell: SpunBell, stage: str, run: Run, hands: Hands, shop: Workshop, witness: float, fault: str
) -> list[dict]:
    plan = replace(run.plan, unseated_mm=UNSEATED_MM) if fault == "unseated" else run.plan
    if stage == "spun" and plan.outside == "STYLUS":
        plan = replace(plan, outside="MIC")
    rows = measured(bell, stage, plan, hands, shop.gauges, witness_z=witness, finish=run.steel.finish)
    if fault == "halved":
        for row in rows:
            row["value_mm"] *= 0.5 if row["kind"] == "outside_diameter" else 1.0
    return rows


def _batch_row(run: Run, rng: np.random.Generator) -> dict:
    row = {
        "batch_id": run.batch_id,
        "spun_on": run.spun_on,
        "mandrel_id": run.mandrel_id,
        "revision": None,
        **asdict(run.recipe),
        "note": run.note,
    }
    return blanked(rng, row, share=run.blanks)


def _bell_row(
    bell_id: str, run: Run, order: int, fault: str, bell: SpunBell, witness: float, rng: np.random.Generator
) -> dict:
    swollen = run.recipe.back_passes > 0
    scrap = fault in FAULT_WORDS
    mean_wall = float(np.mean(bell.wall[len(bell.wall) // 2 :])) + 0.004 * rng.normal()
    verdict = "scrap" if scrap else "rework" if swollen and rng.random() < 0.4 else "good"
    return {
        "bell_id": bell_id,
        "batch_id": run.batch_id,
        "order_in_batch": order,
        "wall_mm": mean_wall if run.plan.walls and not scrap else None,
        "witness_z_mm": witness if run.plan.datum == "witness" else None,
        "verdict": verdict if rng.random() > 0.04 or scrap else None,
        "fault": FAULT_WORDS.get(fault, "stands off in the throat" if verdict == "rework" else None),
        "note": None,
    }
