"""Correction reports followed to the letter in worlds of three kinds: python -m tests.worlds.follow KIND FIRST SHOPS.

Each drawn shop is asked for the correction of up to three of its mandrels, whose steel is 0.05 to 0.25 mm per side too
large (15 % of them 0.04 to 0.15 mm too small). All is done as told: recut (turned within 2 um, measured, one batch of
six bells spun on it), wait or process (one more batch, spun as it usually is), or stop. A line a target, and the
totals; a shop is some minutes of one core. What a first cut has passed, and what is left, is counted as in
`tests.helpers.programs.closed_loop`, whose hundred shops are of the demo's own kind.
"""

from __future__ import annotations

import argparse
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from springfit.decisions.correction import Correction, correct
from springfit.decisions.learned_shop import LearnedShop
from springfit.decisions.need.axial import explaining_slide
from springfit.records.book import Book
from springfit.records.conditions import Conditions
from tests.helpers.programs.closed_loop import (
    HALF_A_THOU,
    MOST_ROUNDS,
    MOST_WAITS,
    course_words,
    cut_of,
    learned_from,
)

from .make import KINDS
from .workshop import Flare, Workshop

MOST_FLARES = 3


@dataclass
class Course:
    """What became of one target: verdicts in order, cuts, waits, what the first cut `passed` [mm], what is `left` [mm]
    and whether that is `within` tolerance, at the beginning (`was_within`) and at the end."""

    flare: Flare
    told: list[str]
    cuts: int = 0
    waits: int = 0
    passed: float = -np.inf
    left: float = np.nan
    within: bool = False
    was_within: bool = False
    ended: bool = False

    @property
    def reachable(self) -> bool:
        """Whether cutting exactly the true need would bring it within tolerance."""
        return self.flare.too_large > 0.0 or self.was_within

    @property
    def line(self) -> str:
        """The target in one line."""
        course = course_words(self.cuts, self.waits, self.passed, self.left)
        out = "" if self.within else " OUT"
        return f"{self.flare.name:10s} too large {self.flare.too_large:+.3f}  {course}{out}  {', '.join(self.told)}"


def followed(kind: str, seed: int, cache: Path) -> list[Course]:
    """One shop from its first question to its last verdict."""
    workshop = Workshop(kind, seed, cache, most=MOST_FLARES)
    courses = [Course(flare, []) for flare in workshop.flares]
    while any(not one.ended for one in courses):
        learned, book = _learned(workshop)
        for one in courses:
            if not one.ended:
                _step(workshop, one, correct(learned, book, one.flare.name, conditions=_asked(one.flare)))
    return courses


def _step(workshop: Workshop, one: Course, told: Correction) -> None:
    word = told.verdict.verdict
    one.told.append(word if told.verdict.more_batches is None else f"{word} for {told.verdict.more_batches}")
    left, within = _left(workshop, one.flare, told)
    if len(one.told) == 1:
        one.was_within = within
    if word == "recut" and one.cuts < MOST_ROUNDS:
        over = _cut(workshop, one.flare, told)
        one.passed, one.cuts = (over if one.cuts == 0 else one.passed), one.cuts + 1
    elif word in ("wait", "process") and one.waits < MOST_WAITS:
        one.waits += 1
        workshop.spin(one.flare)
    else:
        one.left, one.within, one.ended = left, within, True


def _learned(workshop: Workshop) -> tuple[LearnedShop, Book]:
    with tempfile.TemporaryDirectory() as folder:
        workshop.write(Path(folder) / "book")
        return learned_from(Path(folder) / "book")


def _asked(flare: Flare) -> Conditions:
    known = {k: v for k, v in vars(flare.recipe).items() if k in Conditions.__dataclass_fields__}
    return Conditions(name="usual", **known)


def _cut(workshop: Workshop, flare: Flare, told: Correction) -> float:
    """Turn as told; how far [mm] the cut passed the true need."""
    rows, cut = told.stations, cut_of(told)
    workshop.cut(flare, rows["z_mm"].to_numpy(), cut / np.cos(rows["slope_rad"].to_numpy()))
    left = workshop.error(flare, rows["s_mm"].to_numpy())
    left = left - told.verdict.slide_mm * np.sin(rows["slope_rad"].to_numpy())
    judged = ~rows["masked"].to_numpy(bool) & np.isfinite(left) & (cut > 0.0)
    return float(np.max(np.minimum(cut, -left)[judged], initial=-np.inf))


def _left(workshop: Workshop, flare: Flare, told: Correction) -> tuple[float, bool]:
    """Largest true error [mm] of the unmasked rows after the best slide the target allows; whether it is within."""
    rows = told.stations
    error = workshop.error(flare, rows["s_mm"].to_numpy())
    judged = ~rows["masked"].to_numpy(bool) & np.isfinite(error)
    slope = rows["slope_rad"].to_numpy()[judged]
    left = float(explaining_slide(error[judged], slope, told.job.slide_allowance_mm)[1])
    return left, left <= told.job.tolerance_mm


def _totals(ended: list[Course]) -> str:
    cut, reachable = [one for one in ended if one.cuts], [one for one in ended if one.reachable]
    deep = sum(one.passed > HALF_A_THOU for one in cut)
    return (
        f"{len(ended)} targets: first cut more than {HALF_A_THOU} mm past the need in {deep}; within tolerance at the "
        f"end {sum(one.within for one in reachable)} of {len(reachable)} that a right cut would bring there; ended in "
        f"wait {sum(one.told[-1].startswith('wait') for one in ended)}"
    )


def main(words: list[str] | None = None) -> None:
    """Follow the shops and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kind", choices=KINDS)
    parser.add_argument("first", type=int)
    parser.add_argument("shops", type=int)
    parser.add_argument("--cache", type=Path, default=Path(tempfile.gettempdir()) / "laying-runs")
    asked = parser.parse_args(words)
    ended: list[Course] = []
    for seed in range(asked.first, asked.first + asked.shops):
        courses = followed(asked.kind, seed, asked.cache)
        ended += courses
        for one in courses:
            print(f"{asked.kind} {seed}  {one.line}", flush=True)
    print(_totals(ended))


if __name__ == "__main__":
    main()
