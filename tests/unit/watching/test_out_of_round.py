"""A bell out of round among round ones: named by its size per side, whatever angles were read, and no sound one is."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from springfit.demo.keeping.book_sheets import write_book
from springfit.demo.many_shops import make_shop
from springfit.records.book import Book
from springfit.records.reading import read_book
from springfit.watching.batches.steel_line import SteelLine
from springfit.watching.judged_batches import JudgedBatch
from springfit.watching.out_of_round import with_out_of_round

OVAL_MM, TWO_HUNDREDTHS = 0.25, 0.02
PAIR, FOUR = (0.0, 90.0), (0.0, 45.0, 90.0, 135.0)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """Four batches of five bells."""
    folder = tmp_path_factory.mktemp("round")
    write_book(make_shop(5, batches=4, mandrels=1, bells=5, blanks=0.0).tables, folder, units="mm")
    return read_book(folder)[0]


def read_at(book: Book, bell: str, angles: tuple[float, ...], oval: float, high_side: float) -> Book:
    """The book with the widest places of one bell read at `angles`, two lobes of `oval` [mm per side] on it."""
    rows = book.measurements
    mine = rows[(rows["bell_id"] == bell) & (rows["kind"] == "outside_diameter")]
    one = mine.sort_values("value_mm").drop_duplicates("z_mm").tail(6)
    turned = [one.assign(angle_deg=angle, value_mm=one["value_mm"] + _lobe(angle, oval, high_side)) for angle in angles]
    return replace(book, measurements=pd.concat([rows.drop(mine.index), *turned], ignore_index=True))


def _lobe(angle: float, oval: float, high_side: float) -> float:
    return 2.0 * oval * float(np.cos(2.0 * np.radians(angle - high_side)))


def named(book: Book) -> dict[str, float]:
    """Size by bell of those named."""
    line = SteelLine(np.array([0.0, 300.0]), np.array([0.0, 300.0]))
    judged = [
        JudgedBatch(str(batch), "M1", 0, "", 9, "", (), (), tuple(bells["bell_id"]), (), None, 300.0, line, None)
        for batch, bells in book.bells.groupby("batch_id")
    ]
    return {fault.bell_id: fault.size for one in with_out_of_round(book, judged) for fault in one.named}


def test_sound_bells_are_round_enough(book: Book) -> None:
    assert named(book) == {}


@pytest.mark.parametrize(("angles", "high_side"), [(PAIR, 0.0), (FOUR, 0.0), (FOUR, 20.0), (FOUR, 45.0)])
def test_a_bell_out_of_round_is_named_by_its_size(
    book: Book, angles: tuple[float, ...], high_side: float
) -> None:
    bell = str(book.bells["bell_id"].iloc[7])
    found = named(read_at(book, bell, angles, OVAL_MM, high_side))
    assert set(found) == {bell}
    assert found[bell] == pytest.approx(OVAL_MM, abs=TWO_HUNDREDTHS)


def test_a_pair_of_angles_tells_nothing_of_lobes_half_way_between(book: Book) -> None:
    bell = str(book.bells["bell_id"].iloc[7])
    assert named(read_at(book, bell, PAIR, OVAL_MM, 45.0)) == {}


def test_one_angle_tells_nothing(tmp_path: Path, book: Book) -> None:
    bell = str(book.bells["bell_id"].iloc[7])
    assert bell not in named(read_at(book, bell, (0.0,), OVAL_MM, 0.0))
