"""Batches count, not readings: many stations of one bell are one bell, and say little of the next batch."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from springfit.decisions.forecast import Forecast, forecast
from springfit.demo.locate import demo_folder
from springfit.learning.data.observations import BellReadings
from springfit.learning.experience import Experience, experience_of
from springfit.learning.fitting import fit_model
from springfit.records.part import part_of
from springfit.records.reading import read_book

MANDREL, FLARE = "HERON", 0.6  # of the arc: the flare lies beyond
STATIONS, BELLS, EACH, BATCHES = 60, 10, 6, 4


@cache
def shop() -> Experience:
    """The demo shop's records, the first sound batches of one mandrel."""
    book, findings = read_book(demo_folder() / "demo-shop")
    own = book.batches[book.batches["mandrel_id"] == MANDREL]["batch_id"]
    return experience_of(part_of(book, sorted(own)[:BATCHES]), findings)  # what is not learned is not laid either


def some_of(bell: BellReadings, count: int) -> BellReadings:
    """A bell with `count` of its readings, spread evenly from tail to rim."""
    keep = np.zeros(len(bell.gap), dtype=bool)
    keep[np.linspace(0, len(keep) - 1, count).round().astype(int)] = True
    return bell.rows_where(keep)


def learned(bells: list[BellReadings]) -> Forecast:
    """Forecast of a new batch like the shop's last one, on the same steel, from `bells` alone."""
    made = shop()
    fit = fit_model(replace(made, bells=tuple(bells), raw=tuple(bells)))
    assert fit is not None
    last = sorted({bell.batch_id for bell in made.bells})[-1]
    return forecast(fit.model(), made.meridian(last), made.conditions[last])


def width(told: Forecast) -> float:
    """Mean width [mm] of the batch's band over the flare."""
    low, high = told.mean_band()
    return float(np.mean((high - low)[told.meridian.s > FLARE * told.meridian.s[-1]]))


@cache
def of_four_batches() -> float:
    """Width from six readings on each of ten bells of four batches."""
    made = shop()
    names = sorted({bell.batch_id for bell in made.bells})[:BATCHES]
    ranks = {name: [bell for bell in made.bells if bell.batch_id == name] for name in names}
    chosen = [ranks[names[i % BATCHES]][i // BATCHES] for i in range(BELLS)]
    assert len({bell.bell_id for bell in chosen}) == BELLS
    return width(learned([some_of(bell, EACH) for bell in chosen]))


@pytest.mark.parametrize("place", range(3))
def test_sixty_stations_of_one_bell_say_less_than_six_on_each_of_ten(place: int) -> None:
    plenty = [bell for bell in shop().bells if len(bell.gap) >= STATIONS]
    one = plenty[place * (len(plenty) // 3)]
    assert width(learned([some_of(one, STATIONS)])) > of_four_batches()
