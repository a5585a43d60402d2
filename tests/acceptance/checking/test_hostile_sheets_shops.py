"""The sample shops: no false error, every planted mistake named, and the steel of the day under every batch."""

from __future__ import annotations

import dataclasses
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from springfit.records import Book, read_book
from springfit.records.checks.mistakes import sheets_off_the_steel
from springfit.records.checks.rough_gaps import SHEET, mandrel_profiles, rough_gaps
from tests.helpers.programs.kept_shop import LAID_SHOP

MORE = pytest.mark.benchmark
PLATING_SEEN_MM = {"kept": 0.01, "sample-shop": 0.02}  # a join by name alone is wrong by at least this, per side


@pytest.fixture(params=["kept", "sample-shop"])
def sound(request: pytest.FixtureRequest) -> Path:
    """The folder of a shop without a slip: the one kept with the tests, and the larger sample."""
    return LAID_SHOP if request.param == "kept" else request.getfixturevalue("shared") / request.param


def test_the_sound_shop_has_neither_errors_nor_doubts(sound: Path) -> None:
    _, findings = read_book(sound)
    assert {finding.grade for finding in findings} == {"note"}


def test_the_inch_shop_s_radius_sheets_are_named(shared: Path) -> None:
    book, findings = read_book(shared / "sample-shop-inch")
    assert book.units == "in"
    # One reading of another bell is doubted by itself: of 14 000, and it sets no bell aside.
    doubts = [finding for finding in findings if finding.grade == "doubt" and finding.sets_aside]
    assert [(finding.row, finding.subject) for finding in doubts] == [(12396, "B019-01"), (12474, "B019-01")]
    assert len([finding for finding in findings if finding.sets_row_aside]) <= 1
    assert all("the radius was typed for the diameter" in finding.what for finding in doubts)


# What the shops' own sheets become when every diameter in them is mistyped in the same way.
MISTYPED = {
    "the radius was typed": 0.5,
    "the diameter was doubled": 2.0,
    "millimetres were typed in an inch column": 25.4,
    "inches were typed in a mm column": 1 / 25.4,
    "a place too far left": 0.1,
}


# The shops in turn, each other pair by hand: seconds for every sheet of a shop.
IN_TURN = [
    pytest.param(said, shop, marks=() if number % 2 == turn else MORE)
    for number, said in enumerate(MISTYPED)
    for turn, shop in enumerate(("sample-shop", "sample-shop-inch"))
] + [pytest.param(said, "kept") for said in MISTYPED]


@cache
def sound_shop(folder: Path) -> Book:
    return read_book(folder)[0]


@pytest.mark.parametrize(("said", "shop"), IN_TURN)
def test_every_sheet_mistyped_is_named(shop: str, said: str, request: pytest.FixtureRequest) -> None:
    folder = LAID_SHOP if shop == "kept" else request.getfixturevalue("shared") / shop
    book = sound_shop(folder)
    sound = book.measurements[book.measurements["bell_id"] != "B019-01"]
    diameters = sound["kind"].isin(["outside_diameter", "inside_diameter", "axial_at_diameter"])
    values = sound["value_mm"].where(~diameters, sound["value_mm"] * MISTYPED[said])
    spoilt = dataclasses.replace(book, measurements=sound.assign(value_mm=values))
    readings = rough_gaps(spoilt, mandrel_profiles(spoilt))
    sheets = readings.groupby(SHEET).size()
    found = sheets_off_the_steel(spoilt, readings, mandrel_profiles(spoilt))
    assert len(found) == int((sheets >= 3).sum()) > (20 if shop == "kept" else 200)
    assert all(said in finding.what for finding in found)


def test_a_join_by_name_alone_is_wrong_by_the_plating(sound: Path) -> None:
    """A mandrel plated in July: its later batches lie on revision 1, well outside revision 0."""
    book, _ = read_book(sound)
    plated, seen = ("ASH", PLATING_SEEN_MM["kept"]) if sound == LAID_SHOP else ("BIRCH", PLATING_SEEN_MM["sample-shop"])
    batches = book.batches[book.batches["mandrel_id"] == plated]
    later = batches["spun_on"] >= book.mandrels.set_index(["mandrel_id", "revision"])["in_force_from"][plated, 1]
    assert later.any() and not later.all()
    assert (batches["revision"] == later.astype(float)).all()
    for batch, is_later in zip(batches["batch_id"], later, strict=True):
        z, ours = profile_of(book, batch)
        by_name = np.interp(z, *book.profile(plated, 0))  # the first profile of that name
        wrong = float(np.median(np.abs(ours - by_name))) / 2
        assert wrong >= seen if is_later else wrong == 0


def profile_of(book: Book, batch: str) -> tuple[np.ndarray, np.ndarray]:
    """The profile of the steel that a batch was spun on."""
    row = book.batches[book.batches["batch_id"] == batch].iloc[0]
    return book.profile(row["mandrel_id"], int(row["revision"]))
