"""Clearances that no leaf of the feeler is: inches in a mm column or the other way round, and both sides added.

A clearance is the thickest leaf that passes, so it can only be one of the leaves. Which these are the shop's other
batches show; a sheet whose values are none of them, but are once it is undone what may have been done, is named. Both
sides together are twice a leaf: few leaves are, and that a whole sheet of large ones is seldom comes by chance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

__all__ = ["both_sides", "other_leaves", "too_thin"]

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]
Flags = NDArray[np.bool_]

# Shim stock and the thinnest leaves made are half a thou or 0.01 mm; a thinner one is another unit (a thou and a half
# typed in inches is 0.0015 of a mm column).
_THINNEST_MM = 0.0095
_THICKEST_MM = 3.0  # of one leaf, as in `unusual_sizes`: a bell further off than this is not seated
_SAME_MM = 0.0011  # values are typed to 0.001 mm: rounded twice
_FEWEST = 40  # readings of the gauge that show which leaves there are; assumed
_SELDOM = 0.05  # of them, of leaves that a single batch used: a sound sheet shows a new leaf about as seldom
_NEW_LEAVES = 2  # different values that are no leaf of the others: one is a slip of the hand
_MOST = 0.75  # of a sheet's values that are leaves once it is undone: the largest may be no others'; assumed
# A shop has some hundred sheets of clearances and tens of batches. Where a gap grows evenly one even thou follows
# another twice as often as by chance: one false doubt in twenty shops.
_CHANCE_SHEET, _CHANCE_BATCH = 2e-4, 1e-4
_UNITS = {
    25.4: "inches in a mm column",
    1 / 25.4: "mm in an inch column",
    1000.0: "inches in a thou column",
    1 / 1000.0: "thou in an inch column",
}
_BOTH = "those of both sides together"


def too_thin(rows: pd.DataFrame) -> dict[int, str]:
    """Sheets with a clearance thinner than any leaf (`rows` as `clearance_sheets` has them): number to what it was."""
    value = rows["value_mm"]
    thin = rows.loc[(value > 0) & (value < _THINNEST_MM), "sheet"].unique()
    most = value.groupby(rows["sheet"]).max()
    return {int(n): _UNITS[25.4] if most[n] * 25.4 <= _THICKEST_MM else "another unit" for n in thin}


def other_leaves(rows: pd.DataFrame) -> dict[int, str]:
    """Sheets of values that other batches never have with the gauge, but mostly have in another unit."""
    found: dict[int, str] = {}
    for some, leaves in _by_gauge(rows):
        value, sheet = some["value_mm"].to_numpy(float), some["sheet"].to_numpy()
        new = pd.Series(~leaves.passed(value))
        counts = some.assign(um=_um(value))[new.to_numpy()].groupby("sheet")["um"].nunique()
        may_be = (new.groupby(sheet).mean() >= 0.5) & (counts.reindex(np.unique(sheet)).fillna(0) >= _NEW_LEAVES)
        for factor, said in _UNITS.items():
            fits = pd.Series(leaves.passed(value * factor)).groupby(sheet).mean()
            for n in fits.index[may_be & (fits >= _MOST)]:
                found.setdefault(int(n), said)
    return found


def both_sides(rows: pd.DataFrame) -> dict[int, str]:
    """Sheets whose halves are leaves throughout, as large as few on their mandrel, or of values that are no leaves."""
    found: dict[int, str] = {}
    for some, leaves in _by_gauge(rows):
        value = some["value_mm"].to_numpy(float)
        # Half of the largest may be a leaf that no other bell has gaped enough for.
        halves, new = leaves.passed(value / 2) | (value / 2 > leaves.thickest), ~leaves.passed(value)
        told = some.assign(half=halves, new=np.where(new & halves, _um(value), np.nan))
        by_sheet, by_batch = told.groupby("sheet"), told.groupby("batch_id")["half"]
        batch = by_sheet["batch_id"].first()
        size, size_of_batch = by_sheet["half"].size(), by_batch.size().reindex(batch).to_numpy()
        other_halves = halves.sum() - by_batch.sum().reindex(batch).to_numpy()
        usual = (other_halves + 1) / (len(halves) - size_of_batch + 1)
        chance = usual**size * _share_as_large(some) * leaves.new_leaf ** by_sheet["new"].nunique()
        chance_of_batch = usual**size_of_batch
        likely = by_sheet["half"].all() & (chance < _CHANCE_SHEET)
        likely |= by_batch.all().reindex(batch).to_numpy(bool) & (chance_of_batch < _CHANCE_BATCH)
        found |= dict.fromkeys(map(int, likely.index[likely]), _BOTH)
    return found


@dataclass(frozen=True)
class _Leaves:
    """Leaves of a gauge in order [um], how many batches used each, which one did; the batch of each reading asked
    about; the `thickest` [mm] that two batches used; the chance that a sound reading shows a new leaf."""

    um: Numbers
    batches: Numbers
    owner: Numbers
    asking: Numbers
    thickest: float
    new_leaf: float

    def passed(self, values: Floats) -> Flags:
        """Whether another batch than its own used a leaf as thick as each of `values` [mm], one a reading."""
        um = values / 0.001
        found = np.zeros(len(values), dtype=bool)
        after = np.searchsorted(self.um, um)
        for place in (np.clip(after - 1, 0, None), np.clip(after, None, len(self.um) - 1)):
            near = np.abs(self.um[place] - um) <= _SAME_MM / 0.001
            found |= near & ((self.batches[place] > 1) | (self.owner[place] != self.asking))
        return found


def _um(values: Floats) -> Numbers:
    return np.round(values / 0.001).astype(np.intp)


def _by_gauge(rows: pd.DataFrame) -> list[tuple[pd.DataFrame, _Leaves]]:
    """The clearances above nought of each gauge that has enough of them, and its leaves."""
    found = []
    for _, some in rows[rows["value_mm"] > 0].groupby("gauge_id", sort=False):
        um, batch = _um(some["value_mm"].to_numpy(float)), pd.factorize(some["batch_id"])[0]
        by = pd.DataFrame({"um": um, "batch": batch}).drop_duplicates().groupby("um")["batch"]
        leaf, count, owner = (getattr(by, name)() for name in ("first", "size", "first"))
        alone = int((count.reindex(um) == 1).sum())
        if len(some) >= _FEWEST and alone <= _SELDOM * len(some):
            each = (leaf.index.to_numpy(), count.to_numpy(), owner.to_numpy())
            thickest = float(each[0][each[1] > 1].max(initial=0)) * 0.001
            found.append((some, _Leaves(*each, batch, thickest, (alone + 1) / len(some))))
    return found


def _share_as_large(some: pd.DataFrame) -> pd.Series:
    """How many sheets of its mandrel have as large a mean as each, itself counted, as a share."""
    by_sheet = some.groupby("sheet")
    mean, mandrel = by_sheet["value_mm"].mean(), by_sheet["mandrel_id"].first()
    rank = mean.groupby(mandrel).rank(ascending=False, method="max")
    return rank / mean.groupby(mandrel).transform("size")
