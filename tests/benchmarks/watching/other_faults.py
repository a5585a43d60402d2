"""The other signatures in whole shops: bells off their seat, measured warm, drawn longer, out of round, pulled by a
bead, a facet washed out or metal lifted off it: a batch of each, what is named of it, and of a sound one beside.

    python -m tests.benchmarks.watching.other_faults FIRST SHOPS [KEPT]

KEPT as in `worn_shops`, whose mandrels these are, none of which loses anything; learned after four batches a mandrel,
each fault in one of the next. Bells come from the demo's own 2-D solid, spun as on other steel where a facet is at
fault; all else is done to the readings as they are written.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from springfit.demo.spinning.families import with_dishes
from springfit.watching.judged_batches import JudgedBatch
from springfit.watching.out_of_round import with_out_of_round
from tests.benchmarks.watching.mandrels_that_wear import LEARNED, Life, life_of, mandrel_of, tables_of
from tests.benchmarks.watching.worn_shops import WAYS, book_of, judged

OFF_SEAT_MM, WARM_K, EXPANSION, LONGER_MM, OVAL_MM, PULLED_MM = 1.6, 25.0, 19.9e-6, 0.5, 0.15, 0.15
LOST, LIFTED = 0.07, 0.10  # [mm] of a facet that is all gone, and of metal that stands off it
FACET_MM = 34.0  # width of either
SOME = ("01", "03")  # bells of a batch whose own fault it is
Rows = pd.DataFrame


@dataclass(frozen=True)
class Planted:
    """One fault: how it changes the `rows` of a batch's readings of a shop, and whether `some` bells have it or all."""

    rows: Callable[[Rows, Life, str], Rows]
    some: bool = False


def _as_read(rows: Rows, life: Life, batch: str) -> Rows:
    return rows


def _off_seat(rows: Rows, life: Life, batch: str) -> Rows:
    return rows.assign(z_mm=rows["z_mm"] - OFF_SEAT_MM * np.where(rows["datum"] == "rim", -1.0, 1.0))


def _warm(rows: Rows, life: Life, batch: str) -> Rows:
    grown = np.where(rows["kind"].isin(("outside_diameter", "inside_diameter")), 1.0 + EXPANSION * WARM_K, 1.0)
    return rows.assign(value_mm=rows["value_mm"] * grown, z_mm=rows["z_mm"] * (1.0 + EXPANSION * WARM_K))


def _longer(rows: Rows, life: Life, batch: str) -> Rows:
    mandrel = life.mandrels[mandrel_of(batch)]
    draw, rim = mandrel.habit.draw_end_mm, float(mandrel.revisions[0].line.z[-1])
    from_tail = np.where(rows["datum"] == "rim", rim - rows["z_mm"], rows["z_mm"])
    along = np.clip((from_tail - draw) / (rim - draw), 0.0, 1.0)
    moved = np.where(rows["datum"] == "rim", LONGER_MM * (1.0 - along), LONGER_MM * along)
    return rows.assign(z_mm=rows["z_mm"] + moved)


def _oval(rows: Rows, life: Life, batch: str) -> Rows:
    """Two lobes that grow toward the rim as the demo's own do."""
    line = life.mandrels[mandrel_of(batch)].revisions[0].line
    along = np.interp(rows["value_mm"] / 2.0, line.r, line.s) / line.length
    lobe = 2.0 * OVAL_MM * along**4 * np.cos(2.0 * np.radians(rows["angle_deg"].astype(float)))
    return rows.assign(value_mm=rows["value_mm"] + np.where(rows["kind"] == "outside_diameter", lobe, 0.0))


def _beaded(rows: Rows, life: Life, batch: str) -> Rows:
    """The rim drawn in by its bead, which reaches back as far as an edge moment does; every reading after beading."""
    mandrel = life.mandrels[mandrel_of(batch)]
    line, rim = mandrel.revisions[0].line, mandrel.habit.finished_rim_mm / 2.0
    outside = rows["kind"] == "outside_diameter"
    radius = (rows["value_mm"] / 2.0).clip(upper=rim).where(outside, rim)
    arc = np.interp(radius, line.r, line.s)
    back = (np.interp(rim, line.r, line.s) - arc) / np.sqrt(rim * mandrel.habit.wall_mm)
    slope = np.interp(radius, line.r, line.slope)
    pulled = -2.0 * PULLED_MM * np.exp(-back) * np.cos(back) / np.cos(slope)
    return rows.assign(value_mm=rows["value_mm"] + np.where(outside, pulled, 0.0), stage="beaded")


PLANTED: Mapping[str, Planted] = {
    "sound": Planted(_as_read), "off_seat": Planted(_off_seat, some=True), "warm": Planted(_warm),
    "lengthened": Planted(_longer), "out_of_round": Planted(_oval, some=True), "bead_pull": Planted(_beaded),
    "facet_washed_out": Planted(_as_read), "facet_lifted": Planted(_as_read),
}  # fmt: skip
ON = {name: f"M{1 + place % 3}-{LEARNED + 1 + place // 3:02d}" for place, name in enumerate(PLANTED)}
"""The batch that has each fault."""


class Faulty(Life):
    """A shop whose steel stays, two of its batches spun as if it had less of a facet, or more metal over one."""

    def steel(self, batch: str):  # type: ignore[no-untyped-def]
        """What the bells of a batch lie on."""
        name = mandrel_of(batch)
        line = self.mandrels[name].revisions[0].line
        change = {ON["facet_washed_out"]: LOST * self.sign(name), ON["facet_lifted"]: -LIFTED}.get(batch, 0.0)
        return with_dishes(line, ((self.facets[name], FACET_MM, change),)) if change else line

    def sign(self, mandrel: str) -> float:
        """+1 where the facet stands out, -1 where it is hollow."""
        line = self.mandrels[mandrel].revisions[0].line
        beside = [float(np.interp(self.facets[mandrel] + d, line.s, line.curvature)) for d in (-14.0, 0.0, 14.0)]
        return 1.0 if beside[1] < (beside[0] + beside[2]) / 2.0 else -1.0


def faulty_tables(life: Life, seed: int) -> dict[str, pd.DataFrame]:
    """The book of a shop with its faults."""
    tables = tables_of(life, seed)
    read = tables["measurements"]
    for name, planted in PLANTED.items():
        mine = read["bell_id"].str.startswith(ON[name])
        mine &= read["bell_id"].str[-2:].isin(SOME) if planted.some else True
        mine &= (read["stage"] == "trimmed") & ~read["kind"].isin(("wall", "clearance"))
        read.loc[mine] = planted.rows(read[mine], life, ON[name])
    return {**tables, "measurements": read[~_between(read, life)]}


def _between(read: Rows, life: Life) -> pd.Series:
    """The leaves over the facet at fault: what they would find between such a bell and the steel is not in the demo."""
    out = pd.Series(False, index=read.index)
    for batch in (ON["facet_washed_out"], ON["facet_lifted"]):
        line = life.mandrels[mandrel_of(batch)].revisions[0].line
        there = np.abs(np.interp(read["z_mm"], line.z, line.s) - life.facets[mandrel_of(batch)]) < FACET_MM
        out |= read["bell_id"].str.startswith(batch) & (read["kind"] == "clearance") & there
    return out


def told_of(one: JudgedBatch, name: str) -> tuple[bool, bool, bool]:
    """Whether the fault was named, alone or in its group; whether another was, of which it is none; whether any."""
    right = [named for named in one.named if name in named.group]
    return bool(right), any(name not in named.group for named in one.named), bool(one.named)


def main(first: int, shops: int, kept: Path) -> None:
    """A line a batch, then the totals."""
    total = Counter[str]()
    for seed in range(first, first + shops):
        plain = life_of(seed, batches=LEARNED + 3)
        life = Faulty(**{**vars(plain), "worn": replace(plain.worn, per_bell=0.0)})
        book, model = book_of(life, seed, kept / f"other-{seed}", tables=faulty_tables)
        found = {one.batch_id: one for one in with_out_of_round(book, judged(book, model, life)[WAYS[0]])}
        for name, batch in ON.items():
            one = found[batch]
            right, wrong, anything = told_of(one, name)
            total += Counter({
                f"{name}: batches": 1, f"{name}: named or its group": right, f"{name}: another named": wrong,
                f"{name}: nothing": not anything,
            })  # fmt: skip
            said = sorted({(named.name, named.bell_id[-2:], "|".join(named.group)) for named in one.named})
            print(f"  {seed} {name:16s} {batch} {said}", flush=True)
    for name in sorted(total):
        print(f"{name:40s} {total[name]}")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as thrown_away:
        main(int(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3]) if len(sys.argv) > 3 else Path(thrown_away))
