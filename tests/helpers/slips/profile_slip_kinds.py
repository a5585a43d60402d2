"""Kinds of slips that a hand makes in a book, each planted into one that was read: what is wrong, and where.

A plant changes frames of a `Book` (lengths in mm, as they would have been read) and says what a doubt has to name: the
target or mandrel as its subject, or the row. Those of targets and mandrels have to stop a correction.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from springfit.records.book import Book

Floats = np.ndarray
Profile = tuple[Floats, Floats]
Change = Callable[[Floats, Floats, np.random.Generator], Profile]

WALL = 0.5  # mm, of what is taken for an outside


def _some_station(z: Floats, rng: np.random.Generator) -> int:
    return int(rng.integers(2, len(z) - 2))


def off_at_one(size: float) -> Change:
    """One diameter off by `size` [mm]."""

    def change(z: Floats, d: Floats, rng: np.random.Generator) -> Profile:
        d = d.copy()
        d[_some_station(z, rng)] += size * rng.choice([-1, 1])
        return z, d

    return change


def along(size: float) -> Change:
    """The whole shape off along the axis, its ends where they were: each size written a little further on."""

    def change(z: Floats, d: Floats, rng: np.random.Generator) -> Profile:
        shift = size * rng.choice([-1, 1])
        slope = np.gradient(d, z)
        there = np.interp(z - shift, z, d)
        past = np.clip(z - shift - z[-1], 0, None) + np.clip(z - shift - z[0], None, 0)
        return z, there + past * np.where(past > 0, slope[-1], slope[0])

    return change


def z_off_at_one(size: float) -> Change:
    """One station off by `size` [mm], still between its neighbours."""

    def change(z: Floats, d: Floats, rng: np.random.Generator) -> Profile:
        z, n = z.copy(), _some_station(z, rng)
        room = 0.45 * min(z[n] - z[n - 1], z[n + 1] - z[n])
        z[n] += min(size, room) * rng.choice([-1, 1])
        return z, d

    return change


def swapped_neighbours(z: Floats, d: Floats, rng: np.random.Generator) -> Profile:
    """Two diameters that follow one another written in each other's row."""
    d, n = d.copy(), int(rng.integers(len(d) // 2, len(d) - 2))
    d[n], d[n + 1] = d[n + 1], d[n]
    return z, d


def outside(z: Floats, d: Floats, rng: np.random.Generator) -> Profile:
    return z, d + 2 * WALL / np.cos(np.arctan(np.gradient(d / 2, z)))


def a_row_lower_from_half(z: Floats, d: Floats, rng: np.random.Generator) -> Profile:
    d, n = d.copy(), len(d) // 2
    d[n + 1 :] = d[n:-1]
    return z, d


def without(first: float, last: float) -> Change:
    """The stations from `first` to `last` (shares of the length) missing."""

    def change(z: Floats, d: Floats, rng: np.random.Generator) -> Profile:
        share = (z - z[0]) / (z[-1] - z[0])
        kept = (share < first) | (share > last)
        return z[kept], d[kept]

    return change


def scaled(by: float, rows: Callable[[int], np.ndarray] = lambda n: np.ones(n, dtype=bool)) -> Change:
    return lambda z, d, rng: (z, np.where(rows(len(d)), d * by, d))


def _upper_half(n: int) -> np.ndarray:
    return np.arange(n) >= n // 2


def _every_other(n: int) -> np.ndarray:
    return np.arange(n) % 2 == 1


def _a_third(n: int) -> np.ndarray:
    return np.arange(n) < n // 3


PROFILE_KINDS: dict[str, Change] = {
    "radii in every row": scaled(0.5),
    "radii in the upper half": scaled(0.5, _upper_half),
    "radii in every other row": scaled(0.5, _every_other),
    "doubled": scaled(2.0),
    "inches in a mm column": scaled(1 / 25.4),
    "inches in a third of the rows": scaled(1 / 25.4, _a_third),
    "outside sizes": outside,
    "z from the rim": lambda z, d, rng: ((z[-1] - z)[::-1] + z[0], d[::-1]),
    "z in inches": lambda z, d, rng: (z / 25.4, d),
    "a row too low": lambda z, d, rng: (z[1:], d[:-1]),
    "a row too high": lambda z, d, rng: (z[:-1], d[1:]),
    "a row too low from half-way": a_row_lower_from_half,
    "two neighbours swapped": swapped_neighbours,
    "one size 0.2 mm off": off_at_one(0.2),
    "one size 0.5 mm off": off_at_one(0.5),
    "one size 1 mm off": off_at_one(1.0),
    "one size 0.1 in off": off_at_one(2.54),
    "one size 10 mm off": off_at_one(10.0),
    "one station 2 mm off": z_off_at_one(2.0),
    "1 mm off along the axis": along(1.0),
    "2 mm off along the axis": along(2.0),
    "3 mm off along the axis": along(3.0),
    "5 mm off along the axis": along(5.0),
    "the last third missing": without(2 / 3, 1.1),
    "the first third missing": without(-0.1, 1 / 3),
    "a third missing in the middle": without(0.4, 0.73),
}


@dataclass(frozen=True)
class Planted:
    """A book with one slip in it; a doubt has to be about `subject`."""

    book: Book
    subject: str


def plant_target(book: Book, target: str, kind: str, rng: np.random.Generator) -> Planted:
    """The book with one target's profile spoilt."""
    rows = book.target_profile
    spoilt = _with_profile(rows, rows["target_id"] == target, PROFILE_KINDS[kind], rng)
    return Planted(replace(book, target_profile=spoilt), target)


def plant_mandrel(book: Book, mandrel: str, revision: int, kind: str, rng: np.random.Generator) -> Planted:
    """The book with one revision's profile spoilt."""
    rows = book.mandrel_profile
    mine = (rows["mandrel_id"] == mandrel) & (rows["revision"] == revision)
    return Planted(replace(book, mandrel_profile=_with_profile(rows, mine, PROFILE_KINDS[kind], rng)), mandrel)


def plant_cell(book: Book, table: str, row: int, column: str, by: float) -> Book:
    """The book with one number of a table times `by`."""
    frame = getattr(book, table).copy()
    frame.loc[row, column] *= by
    return replace(book, **{table: frame})


def _with_profile(rows: pd.DataFrame, mine: pd.Series, change: Change, rng: np.random.Generator) -> pd.DataFrame:
    own = rows[mine]
    z, d = change(own["z_mm"].to_numpy(float), own["diameter_mm"].to_numpy(float), rng)
    spoilt = own.iloc[: len(z)].assign(z_mm=z, diameter_mm=d)
    return pd.concat([rows[~mine], spoilt]).sort_index()
