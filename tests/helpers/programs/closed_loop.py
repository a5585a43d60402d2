"""The whole loop of cut, spin, measure, learn again, with the real learner, on shops whose truth is hidden from it.

    python -m tests.helpers.programs.closed_loop [shops]

Each shop is invented (a 2-D solid, independent of the learner): 4 to 12 batches on 1 to 3 mandrels, mm or inch, its
steel 0.05 to 0.25 mm per side too large, in 15 % of shops 0.04 to 0.15 mm too small. The maker writes the book, trains,
asks for the correction under the mandrel's habit and does as told: recut (turned to `cut_now_diameter_mm` within some
2 um, measured, one batch of six bells spun on it), wait (one more batch), or stop. Prints a line a shop and the totals.
About ten minutes for a hundred shops on two cores.

The true need of a row is the error, after the slide that the report states, of the bell the steel truly gives: no
batch or bell effects. A cut has passed it by what it took beyond that. The error left at the end is the largest after
the best slide that the target allows.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from joblib import Parallel, delayed
from numpy.typing import NDArray

from springfit.decisions.correction import Correction, correct
from springfit.decisions.learned_shop import LearnedShop
from springfit.decisions.need.axial import explaining_slide
from springfit.demo.keeping.book_sheets import added, write_book
from springfit.demo.many_shops import make_shop, spin_batch
from springfit.demo.shop import Shop, true_error
from springfit.demo.spinning.families import BellLine, line_through
from springfit.demo.spinning.recipe import Recipe
from springfit.learning.versions.store import ModelStore
from springfit.learning.versions.training import train
from springfit.records.book import Book
from springfit.records.conditions import Conditions
from springfit.records.reading import read_book

FloatArray = NDArray[np.float64]

HALF_A_THOU = 0.013  # mm: passing the true need by more than this is a spoiled flare
TURNING_MM = 0.002  # 1 sd of what the lathe leaves
MOST_ROUNDS, MOST_WAITS = 3, 6
SPUN = ("batches", "bells", "measurements")
MANDREL, TARGET = "M1", "M1-T"


@dataclass(frozen=True)
class Outcome:
    """How one shop ended: verdicts, cuts, waits, how far the first cut passed the need (-inf: none), the largest error
    left [mm], whether it is `within` tolerance, and `reachable`: a right cut ends there, steel not too small."""

    seed: int
    told: tuple[str, ...]
    cuts: int
    waits: int
    passed_mm: float
    left_mm: float
    within: bool
    reachable: bool

    @property
    def line(self) -> str:
        """The shop in one line."""
        course = course_words(self.cuts, self.waits, self.passed_mm, self.left_mm)
        return f"shop {self.seed:3d}  {course}  {', '.join(self.told)}"


def course_words(cuts: int, waits: int, passed_mm: float, left_mm: float) -> str:
    """What became of a target, as every line of a loop tells it."""
    passed = f"{passed_mm:+.3f}" if cuts else "  -   "
    return f"cuts {cuts}  waits {waits}  first past the need {passed} mm  left {left_mm:.3f} mm"


def drawn_shop(seed: int) -> tuple[Shop, float]:
    """A shop of random size, unit and steel error, and that error [mm]."""
    rng = np.random.default_rng([seed, 77])
    batches, mandrels = int(rng.integers(4, 13)), int(rng.integers(1, 4))
    large = rng.random() < 0.85
    error = float(rng.uniform(0.05, 0.25) if large else -rng.uniform(0.04, 0.15))
    units = "in" if rng.random() < 0.4 else "mm"
    return make_shop(seed, batches=batches, mandrels=mandrels, units=units, steel_error_mm=error), error


def learned(tables: dict[str, Any], units: str) -> tuple[LearnedShop, Book]:
    """The model of a written book, trained as `springfit train` does, and the book as it was read."""
    with tempfile.TemporaryDirectory() as folder:
        write_book(tables, Path(folder) / "book", units=units)
        return learned_from(Path(folder) / "book")


def learned_from(folder: Path) -> tuple[LearnedShop, Book]:
    """The same of a book in a folder, its models beside it."""
    book, findings = read_book(folder)
    return LearnedShop(train(book, findings, ModelStore(folder.parent / "models")).model), book


def habit(shop: Shop) -> Conditions:
    """How the first mandrel is usually spun."""
    return conditions_of(shop.mandrels[MANDREL].habit)


def conditions_of(recipe: Recipe) -> Conditions:
    """A recipe as a row of conditions."""
    known = {k: v for k, v in asdict(recipe).items() if k in Conditions.__dataclass_fields__}
    return replace(Conditions(name="habit", alloy=recipe.alloy), **known)


def error_of(shop: Shop, line: BellLine, arcs: FloatArray) -> FloatArray:
    """True error [mm] of the bell that the steel gives under its habit, at arcs of the target; NaN past its ends."""
    at, error = true_error(shop, TARGET, line.z[::4], 2 * line.r[::4], shop.mandrels[MANDREL].habit)
    order = np.argsort(at, kind="stable")
    return np.interp(arcs, at[order], error[order], left=np.nan, right=np.nan)


def cut_of(told: Correction) -> FloatArray:
    """The cut now along the normal [mm] on the rows of the station table."""
    rows = told.stations
    cut = (rows["present_diameter_mm"] - rows["cut_now_diameter_mm"]) / 2 * np.cos(rows["slope_rad"])
    return np.where(cut > 1e-7, cut, 0.0)


class Maker:
    """One mandrel's steel and book, and the hands that follow a verdict."""

    def __init__(self, seed: int) -> None:
        self.seed, (self.shop, self.too_large) = seed, drawn_shop(seed)
        self.random = np.random.default_rng([seed, 78])
        self.line = self.shop.mandrels[MANDREL].revisions[-1].line
        self.tables = self.shop.tables
        self.revision = self.spun = 0

    def ask(self) -> Correction:
        """The correction as the book stands."""
        known, book = learned(self.tables, self.shop.units)
        return correct(known, book, TARGET, conditions=habit(self.shop))

    def cut(self, told: Correction) -> float:
        """Turn the steel as told and spin a batch on it; how far the cut passed the true need [mm]."""
        rows, cut = told.stations, cut_of(told)
        s, slope = rows["s_mm"].to_numpy(), rows["slope_rad"].to_numpy()
        even, wave = TURNING_MM * self.random.normal(size=2)
        slip = (even + wave * np.sin(s / 15.0)) * np.clip(cut / 0.02, 0.0, 1.0) / np.cos(slope)
        z = rows["z_mm"].to_numpy()
        here = self.line.points_at(self.line.arc_at_z(z))[1]
        turned = np.minimum(here, rows["cut_now_diameter_mm"].to_numpy() / 2 + slip)
        self.line = line_through(z, np.where(cut > 0.0, turned, here))
        self.revision += 1
        self.spin(measure_steel=True)
        left = error_of(self.shop, self.line, s) - told.verdict.slide_mm * np.sin(slope)
        judged = ~rows["masked"].to_numpy(bool) & np.isfinite(left) & (cut > 0.0)
        # below nought is past the need; where nothing was to come off, all of the cut is
        return float(np.max(np.minimum(cut, -left)[judged]))

    def spin(self, *, measure_steel: bool = False) -> None:
        """Spin and measure one batch of six bells on the steel as it is."""
        self.spun += 1
        day = str(np.datetime64("2025-06-02") + 14 * self.spun)
        rows = spin_batch(
            self.shop, MANDREL, self.line.z[::4], 2 * self.line.r[::4], habit(self.shop),
            batch_id=f"N{self.spun:03d}", spun_on=day, revision=self.revision, seed=self.spun,
        )  # fmt: skip
        self.tables = added(self.tables, rows if measure_steel else {name: rows[name] for name in SPUN})

    def left(self, told: Correction) -> float:
        """Largest true error [mm] of the unmasked rows after the best slide the target allows."""
        rows = told.stations
        error = error_of(self.shop, self.line, rows["s_mm"].to_numpy())
        judged = ~rows["masked"].to_numpy(bool) & np.isfinite(error)
        slope = rows["slope_rad"].to_numpy()[judged]
        return explaining_slide(error[judged], slope, told.job.slide_allowance_mm)[1]


def run(seed: int) -> Outcome:
    """One shop from its first question to its last verdict."""
    maker, words, cuts, waits, passed = Maker(seed), [], 0, 0, -np.inf
    told = maker.ask()
    reachable = maker.too_large > 0.0 or maker.left(told) <= told.job.tolerance_mm
    while True:
        word = told.verdict.verdict
        words.append(word)
        if word == "recut" and cuts < MOST_ROUNDS:
            over = maker.cut(told)
            passed, cuts = (over if cuts == 0 else passed), cuts + 1
        elif word == "wait" and waits < MOST_WAITS:
            waits += 1
            maker.spin()
        else:
            break
        told = maker.ask()
    left = maker.left(told)
    return Outcome(seed, tuple(words), cuts, waits, passed, left, left <= told.job.tolerance_mm, reachable)


def outcomes(shops: int) -> Iterator[Outcome]:
    """The shops one after the other, worked out on two cores."""
    yield from Parallel(n_jobs=2, return_as="generator")(delayed(run)(seed) for seed in range(shops))


@dataclass(frozen=True)
class Score:
    """Shares of shops whose first cut spoiled the flare, that ended within tolerance of those within reach, that ended
    in `wait`; mean cuts and waits."""

    spoiled: float
    within: float
    waiting: float
    rounds: float
    waits: float
    ends: Counter[str]

    @classmethod
    def of(cls, ended: list[Outcome]) -> Score:
        """Score of many shops."""
        return cls(
            float(np.mean([one.passed_mm > HALF_A_THOU for one in ended])),
            float(np.mean([one.within for one in ended if one.reachable])),
            float(np.mean([one.told[-1] == "wait" for one in ended])),
            float(np.mean([one.cuts for one in ended])),
            float(np.mean([one.waits for one in ended])),
            Counter(one.told[-1] for one in ended),
        )

    @property
    def line(self) -> str:
        """The totals in one line."""
        ends = ", ".join(f"{word} {count}" for word, count in self.ends.most_common())
        return (
            f"first cut more than {HALF_A_THOU} mm past the need {self.spoiled:.0%}, ended within tolerance "
            f"{self.within:.0%} of those that a right cut would bring there, mean cutting rounds {self.rounds:.2f}, "
            f"waits {self.waits:.2f}; last verdicts: {ends}"
        )


def main(shops: int) -> None:
    """Run `shops` shops and print."""
    ended = []
    for one in outcomes(shops):
        print(one.line, flush=True)
        ended.append(one)
    print(Score.of(ended).line)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
