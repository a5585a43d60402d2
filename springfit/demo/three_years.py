"""The demo shop's three years: thirty batches on six mandrels by two spinners, with the faults real records
have.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from springfit.demo.keeping.habits import drawn_recipe, hired
from springfit.demo.keeping.pages import gauge_table, mandrel_tables, run_tables, target_tables
from springfit.demo.keeping.runs import Rows, Run, Workshop, spin
from springfit.demo.keeping.sessions import Plan, usual_gauges
from springfit.demo.originals import family_line, original_tables
from springfit.demo.shop import Shop
from springfit.demo.spinning.spun import BatchEffects, Press
from springfit.demo.spinning.true_steel import Mandrel
from springfit.demo.story import INCH, PLANS, planned_mandrel, planned_target

__all__ = ["SEED", "demo_shop"]

SEED = 1847  # any number
SPINNERS = ("Ansel", "Brita")
LOTS = ("K-11", "K-12", "K-15", "R-3", "R-4", "R-7")
FIRST_DAY = "2022-01-17"
DAYS_APART = 36  # thirty batches in three years
STEP_MM = 0.005 * INCH  # of a station as written
DATUMS = ("witness", "tail", "witness", "rim", "witness", "tail")

# Planted, by number of the batch in the book (1 to 30).
TRACED = {14: "witness", 15: "free"}  # one session with the stylus, written in mm
PASSED_BACK = {9: 1, 24: 1, 30: 2}
FAULTS = {
    3: {4: "split"},
    8: {2: "unseated"},
    11: {5: "wrinkle"},
    17: {1: "split"},
    20: {3: "halved"},
    26: {5: "unseated", 6: "split"},
}
# The first bell's readings stand under the second's name, whose own are lost.
MISLABELLED = ("J23-01-03", "J23-02-03")

# Which mandrel each batch is spun on, five times each.
# fmt: off
ORDER = (
    "WREN", "PLOVER", "BITTERN", "TEAL", "CURLEW", "HERON",
    "BITTERN", "TEAL", "CURLEW", "HERON", "WREN", "PLOVER",
    "CURLEW", "HERON", "WREN", "PLOVER", "BITTERN", "TEAL",
    "PLOVER", "BITTERN", "TEAL", "CURLEW", "HERON", "WREN",
    "HERON", "TEAL", "CURLEW", "PLOVER", "WREN", "BITTERN",
)
# fmt: on


@dataclass(frozen=True)
class _Batch:
    number: int
    batch_id: str
    day: str
    mandrel_id: str
    last: bool  # of its mandrel: spun as is the habit


def _calendar() -> list[_Batch]:
    made = []
    in_year: dict[str, int] = {}
    for i, mandrel_id in enumerate(ORDER):
        day = str(np.datetime64(FIRST_DAY) + DAYS_APART * i + (i * 7) % 5)
        in_year[day[:4]] = in_year.get(day[:4], 0) + 1
        made.append(
            _Batch(
                i + 1,
                f"J{day[2:4]}-{in_year[day[:4]]:02d}",
                day,
                mandrel_id,
                mandrel_id not in ORDER[i + 1 :],
            )
        )
    return made


def demo_shop() -> Shop:
    """The whole shop, tables and truth; the same on every call."""
    rng = np.random.default_rng(SEED)
    workshop = Workshop(hired(rng, SPINNERS, LOTS), usual_gauges(rng), Press())
    mandrels = {plan.name: planned_mandrel(plan) for plan in PLANS}
    targets = {target.target_id: target for target in (planned_target(plan, workshop) for plan in PLANS)}
    rows, effects = Rows(), {}
    for batch in _calendar():
        run = _run(batch, mandrels[batch.mandrel_id], workshop, rng)
        effects[batch.batch_id] = workshop.own(run.recipe, run.effects)
        rows.add(spin(run, workshop, rng))
    _mislabel(rows)
    tables = {
        **mandrel_tables(mandrels, rng),
        **target_tables(targets),
        **run_tables(rows),
        **gauge_table(workshop.gauges),
    }
    tables.update(_split_trace(tables.pop("measurements")))
    plover = mandrels["PLOVER"]
    old = family_line(PLANS[1].ideal, plover.habit.finished_rim_mm / 2.0)
    steel = plover.revisions[-1]
    tables.update(original_tables(old, steel.line, ("PLOVER", steel.revision), workshop.gauges, SEED))
    return Shop(SEED, "in", tables, mandrels, targets, workshop, effects, rows.effects)


def _run(batch: _Batch, mandrel: Mandrel, workshop: Workshop, rng: np.random.Generator) -> Run:
    """A batch of the calendar as it is spun, with the faults planted in it."""
    recipe = drawn_recipe(
        rng, mandrel.habit, workshop.people, units="in", back_passes=PASSED_BACK.get(batch.number, 0)
    )
    if batch.last:
        recipe = replace(
            mandrel.habit, lot=recipe.lot, spinner=recipe.spinner, back_passes=recipe.back_passes
        )
    return Run(
        batch.batch_id,
        batch.day,
        batch.mandrel_id,
        mandrel.on(batch.day),
        recipe,
        BatchEffects.drawn(rng),
        _plan(batch),
        _count(batch),
        spun_bells=1 + batch.number % 2,
        faults=FAULTS.get(batch.number, {}),
        note=_note(batch),
    )


def _plan(batch: _Batch) -> Plan:
    plan = Plan(
        datum=DATUMS[batch.number % len(DATUMS)],
        rings=batch.number % 4 == 0,
        inside=batch.number % 7 == 0,
        feelers=batch.number % 3 != 1 or batch.last,
        walls=batch.number % 5 != 2,
        step_mm=STEP_MM,
        bore_step_mm=INCH / 2,
    )
    if batch.number in TRACED:
        return replace(plan, datum=TRACED[batch.number], outside="STYLUS", step_mm=0.1, rings=False)
    if "unseated" in FAULTS.get(batch.number, {}).values():
        return replace(plan, datum="tail", feelers=True)
    return plan


def _count(batch: _Batch) -> int:
    return 5 + batch.number % 3


def _note(batch: _Batch) -> str | None:
    notes = {
        1: "first of the book",
        14: "traced on the lathe, sheet kept in mm",
        15: "traced on the lathe, sheet kept in mm",
        24: "last pass run back to the tail to close the throat",
        30: "two passes back to the tail",
    }
    return notes.get(batch.number)


def _mislabel(rows: Rows) -> None:
    taken, written = MISLABELLED
    kept = [row for row in rows.measurements if row["bell_id"] != written]
    rows.measurements = [{**row, "bell_id": written} if row["bell_id"] == taken else row for row in kept]
    rows.measurements.sort(key=lambda row: row["bell_id"])  # stable: readings of one bell keep their order


def _split_trace(measurements: pd.DataFrame) -> dict[str, pd.DataFrame]:
    traced = measurements["gauge_id"] == "STYLUS"
    return {"measurements": measurements[~traced], "measurements-trace-june": measurements[traced]}
