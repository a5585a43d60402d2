"""Sheets of clearances of an invented shop: seven stations along a flare, a feeler of single thous, gaps that grow.

A gap of so many thou lets the leaf just below it pass, so that a sound sheet is whole thous and every other one is
even; in inches it is thinner than any leaf, both sides together are even thous alone, and from the rim it shrinks.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from springfit.records.checks.clearances.feeler_leaves import both_sides, other_leaves, too_thin
from springfit.records.checks.clearances.from_the_rim import from_the_rim
from springfit.records.checks.rough_gaps import MandrelProfile

THOU, LENGTH, RIM = 0.0254, 400.0, 390.0  # mm
STATIONS = np.array([330.0, 345.0, 357.0, 367.0, 375.0, 381.0, 386.0])
PACK = THOU * np.array([0, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 20, 25, 30, 35, 40])  # of a set as it is sold
Z = np.arange(0.0, LENGTH + 1, 5.0)
STEEL = MandrelProfile("OAK", 0, Z, 12 + 100 * np.exp((Z - LENGTH) / 45), np.zeros_like(Z))


def shop(seed: int, leaves: np.ndarray, batches: int = 20, bells: int = 4) -> pd.DataFrame:
    """Gaps of 0.1 to 0.6 mm at the rim, a third of it inside, read to the leaf below to 0.001 mm."""
    rng, rows = np.random.default_rng(seed), []
    for sheet in range(batches * bells):
        gap = rng.uniform(0.1, 0.6) * np.linspace(0.3, 1.0, len(STATIONS)) + rng.normal(0, 0.02, len(STATIONS))
        passed = leaves[np.searchsorted(leaves, np.clip(gap, 0, None), side="right") - 1]
        rows += [(sheet, f"B{sheet // bells}", z, v) for z, v in zip(STATIONS, np.round(passed, 3), strict=True)]
    frame = pd.DataFrame(rows, columns=["sheet", "batch_id", "z_mm", "value_mm"])
    return frame.assign(gauge_id="FEEL", mandrel_id="OAK", revision=0, rim_mm=STEEL.diameter[-3], wall_mm=0.0)


def by_one_thou() -> np.ndarray:
    return THOU * np.arange(0, 41)


def spoilt(rows: pd.DataFrame, sheets: list[int], by: float) -> pd.DataFrame:
    mine = rows["sheet"].isin(sheets)
    return rows.assign(value_mm=rows["value_mm"].where(~mine, np.round(rows["value_mm"] * by, 4)))


def named(rows: pd.DataFrame) -> set[int]:
    return {*too_thin(rows), *other_leaves(rows), *both_sides(rows), *from_the_rim(rows, {("OAK", 0): STEEL})}


@pytest.mark.parametrize("leaves", [by_one_thou(), PACK])
def test_sound_sheets_are_passed_over(leaves: np.ndarray) -> None:
    """1 600 sheets of twenty shops: one in twenty shops is what the chances are set for."""
    assert sum(len(named(shop(seed, leaves))) for seed in range(20)) <= 2


@pytest.mark.parametrize("leaves", [by_one_thou(), PACK])
@pytest.mark.parametrize("sheets", [[5], [8, 9, 10, 11]])
def test_inches_in_a_mm_column(sheets: list[int], leaves: np.ndarray) -> None:
    said = too_thin(spoilt(shop(1, leaves), sheets, 1 / 25.4)) | other_leaves(spoilt(shop(1, leaves), sheets, 1 / 25.4))
    assert said == dict.fromkeys(sheets, "inches in a mm column")


def test_large_clearances_in_inches_are_no_leaves() -> None:
    """From 10 thou on inches are as thick as leaves are, but lie between them."""
    rows = spoilt(shop(1, by_one_thou()), [5], 1 / 25.4)
    mine = rows["sheet"] == 5
    rows.loc[mine, "value_mm"] = np.array([0.012, 0.013, 0.015, 0.017, 0.019, 0.021, 0.022])
    assert too_thin(rows) == {}
    assert other_leaves(rows) == {5: "inches in a mm column"}


def test_mm_in_an_inch_column() -> None:
    rows = shop(1, by_one_thou())
    assert other_leaves(spoilt(rows, [5], 25.4)) == {5: "mm in an inch column"}


@pytest.mark.parametrize("leaves", [by_one_thou(), PACK])
def test_both_sides_of_a_whole_batch(leaves: np.ndarray) -> None:
    """Twenty-eight even thous one after another: once in 2^28 batches."""
    assert set(both_sides(spoilt(shop(1, leaves), [8, 9, 10, 11], 2.0))) >= {8, 9, 10, 11}


def test_both_sides_of_one_bell_are_told_by_leaves_that_no_pack_has() -> None:
    """Twice 8, 12 and 15 thou are 16, 24 and 30: the first two are in no pack."""
    rows = shop(1, PACK)
    mine = rows["sheet"] == 5
    rows.loc[mine, "value_mm"] = np.round(2 * THOU * np.array([4, 5, 6, 8, 10, 12, 15]), 3)
    assert both_sides(rows) == {5: "those of both sides together"}


def test_seven_even_thous_are_no_doubt_alone() -> None:
    """They come once in 128 sheets, of which a shop has a hundred: only a batch of them, or the pack, tells."""
    rows = shop(1, by_one_thou())
    rows.loc[rows["sheet"] == 5, "value_mm"] = np.round(THOU * np.array([2, 4, 4, 6, 8, 10, 12]), 3)
    assert both_sides(rows) == {}


@pytest.mark.parametrize("sheets", [[5], [8, 9, 10, 11]])
@pytest.mark.parametrize("end", [LENGTH, RIM])
def test_stations_counted_from_the_rim(end: float, sheets: list[int]) -> None:
    rows = shop(1, PACK)
    mine = rows["sheet"].isin(sheets)
    rows = rows.assign(z_mm=rows["z_mm"].where(~mine, end - rows["z_mm"]))
    assert named(rows) == set(sheets)


def test_from_the_rim_where_the_whole_length_is_read() -> None:
    """Stations from tail to rim say nothing once turned; a bell that gapes at its tail does."""
    rows = shop(1, PACK)
    rows = rows.assign(z_mm=LENGTH / 2 + (rows["z_mm"] - 358) * 7)
    mine = rows["sheet"] == 5
    rows = rows.assign(z_mm=rows["z_mm"].where(~mine, LENGTH - rows["z_mm"]))
    assert from_the_rim(rows, {("OAK", 0): STEEL}) == {5}


def test_a_bell_read_further_inside_is_none_from_the_rim() -> None:
    """A hand that looked at the throat too, where the bell is tight."""
    rows = shop(1, PACK)
    throat = rows[rows["sheet"] == 5].assign(value_mm=0.0, z_mm=[80.0, 120.0, 160.0, 200.0, 240.0, 280.0, 310.0])
    assert from_the_rim(pd.concat([rows, throat]), {("OAK", 0): STEEL}) == set()
