"""The gauge study and the sources of spread as a book gives them, against a printed study and drawn shops.

The study is that of `test_gauge_study` (Automotive Industry Action Group), written into a book as readings.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from springfit.demo.keeping.book_sheets import write_book
from springfit.demo.many_shops import make_shop
from springfit.records.book import Book
from springfit.records.reading import read_book
from springfit.watching.batches.steel_line import SteelLine
from springfit.watching.batches.zone_scores import ZoneScore
from springfit.watching.gauges.crossed_gauges import crossed_gauges
from springfit.watching.gauges.spread_sources import spread_sources
from springfit.watching.judged_batches import JudgedBatch
from tests.reference.watching.printed_gauge_study import FIVE_DIGITS, READINGS

LINE = SteelLine(np.array([0.0, 300.0]), np.array([0.0, 300.0]))
WITHIN, OWN, BY_SPINNER = 0.030, 0.010, 0.040  # [mm]


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """Two batches of three bells."""
    folder = tmp_path_factory.mktemp("gauges")
    write_book(make_shop(5, batches=2, mandrels=1, bells=3, blanks=0.0).tables, folder, units="mm")
    return read_book(folder)[0]


def with_study(book: Book) -> Book:
    """The book with the printed study as readings: parts as places of one bell, its people as gauges."""
    first = book.measurements[book.measurements["kind"] == "outside_diameter"].iloc[0]
    parts, people, trials = READINGS.shape
    rows = [
        {**first, "z_mm": 900.0 + part, "gauge_id": f"G{person}", "value_mm": READINGS[part, person, trial]}
        for part in range(parts) for person in range(people) for trial in range(trials)
    ]  # fmt: skip
    return replace(book, measurements=pd.concat([book.measurements, pd.DataFrame(rows)], ignore_index=True))


def test_repeated_readings_of_a_book_make_the_printed_study(book: Book) -> None:
    found = crossed_gauges(with_study(book))
    assert found is not None
    assert (found.gauges, found.places, found.readings) == (("G0", "G1", "G2"), 10, 3)
    assert found.study.part == pytest.approx(1.086447, abs=FIVE_DIGITS)
    assert found.study.person == pytest.approx(0.051455, abs=FIVE_DIGITS)
    assert found.study.repeat == pytest.approx(0.039973, abs=FIVE_DIGITS)


def test_a_book_without_repeats_by_two_gauges_has_no_study(book: Book) -> None:
    assert crossed_gauges(book) is None


def judged(seed: int, spinners: dict[str, str]) -> list[JudgedBatch]:
    """Batches whose rims shift with their spinner and on their own, of five bells each."""
    rng = np.random.default_rng(seed)
    of_spinner = {name: BY_SPINNER * rng.normal() for name in sorted(set(spinners.values()))}
    made = []
    for batch, spinner in spinners.items():
        shift, spread = of_spinner[spinner] + OWN * rng.normal(), WITHIN * float(np.sqrt(rng.chisquare(4) / 4.0))
        zone = ZoneScore(batch, "rim", 5, 40, 0.2, 0.2 + shift, shift, 0.02, 0.0, spread, WITHIN, 0.0, 0.4)
        made.append(JudgedBatch(batch, "M1", 0, "", 9, "", (zone,), (), ("x",) * 5, (), None, 300.0, LINE, None))
    return made


def test_the_bands_hold_what_was_planted(book: Book) -> None:
    """Ninety-per-cent bands over forty shops of twenty-four batches by six spinners."""
    spinners = {f"B{i}": f"S{i % 6}" for i in range(24)}
    rows = pd.DataFrame({"batch_id": list(spinners), "spinner": list(spinners.values()), "lot": None})
    shop = replace(book, batches=rows, bells=book.bells.assign(batch_id="B0"))
    held = {"spinners": 0, "batches": 0, "bells": 0}
    for seed in range(40):
        (rim,) = spread_sources(shop, judged(seed, spinners))
        for name, true in (("spinners", BY_SPINNER), ("batches", OWN), ("bells", WITHIN)):
            one = rim.of(name)
            assert one is not None
            held[name] += one.low <= true <= one.high
    assert min(held.values()) >= 31  # of 40 at 0.9: fewer once in two hundred for each
    assert rim.of("lots") is None


def test_few_batches_tell_no_sources(book: Book) -> None:
    assert spread_sources(book, judged(1, {f"B{i}": "S" for i in range(5)})) == ()
