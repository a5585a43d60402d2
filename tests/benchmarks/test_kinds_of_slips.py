"""A table of the kinds of slips a hand makes, planted into the demo and the sample shops: which are named, how often.

In the default run one target and one revision of the demo are spoilt in every way that has to stop a correction; by
hand (`-m benchmark -s`) every target and mandrel, and each kind of reading, batch and gauge in each book, and the table
is printed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from springfit.demo.locate import demo_folder
from springfit.records.book import Book
from springfit.records.checks.catalogue import doubts
from springfit.records.checks.rough_gaps import mandrel_profiles
from springfit.records.checks.slips.size_slips import size_doubts
from springfit.records.reading import read_book
from tests.helpers.slips.batch_slip_kinds import BATCH_KINDS, GAUGE_KINDS
from tests.helpers.slips.profile_slip_kinds import PROFILE_KINDS, Planted, plant_mandrel, plant_target
from tests.helpers.slips.reading_slip_kinds import READING_KINDS, Plant

# What a hand cannot tell from sound: less than 0.1 mm normal on a steep flare, or a station off on a straight tail.
UNSEEN = {"one size 0.2 mm off", "one station 2 mm off", "1 mm off along the axis", "one size 0.5 mm off"}
NAMED_OF_PROFILES = 0.97  # measured: 1088 of 1118
# Measured last: readings 91 of 96, batches 71 of 72, gauges 20 of 20. What is left is told in the log.
LEAST_NAMED = {"readings": 0.92, "batches": 0.95, "gauges": 0.95}


def stopped(planted: Planted) -> bool:
    """Whether the correction of what was spoilt, or of what is cut by it, waits for an answer."""
    targets = planted.book.targets
    names = {planted.subject, *targets.loc[targets["mandrel_id"] == planted.subject, "target_id"]}
    return any(f.stops and f.subject in names for f in size_doubts(planted.book, mandrel_profiles(planted.book)))


@pytest.fixture(scope="module")
def demo() -> Book:
    return read_book(demo_folder() / "demo-shop")[0]


def test_sound_profiles_stop_nothing(demo: Book) -> None:
    assert not [f for f in size_doubts(demo, mandrel_profiles(demo)) if f.stops]


@pytest.mark.parametrize("kind", [kind for kind in PROFILE_KINDS if kind not in UNSEEN])
def test_a_target_and_a_revision_spoilt_in_every_way_stop_the_correction(kind: str, demo: Book) -> None:
    assert stopped(plant_target(demo, "PLOVER-bell", kind, np.random.default_rng(5)))
    assert stopped(plant_mandrel(demo, "WREN", 1, kind, np.random.default_rng(5)))


@pytest.mark.parametrize("other", ["WREN-bell", "TEAL-bell", "HERON-bell", "CURLEW-bell"])
def test_a_target_with_another_s_shape_stops_the_correction(other: str, demo: Book) -> None:
    """TEAL's tail is within 0.3 mm of PLOVER's, and only their flares tell them apart."""
    rows = demo.target_profile
    shape = rows[rows["target_id"] == other].assign(target_id="PLOVER-bell")
    others = rows[rows["target_id"] != "PLOVER-bell"]
    spoilt = replace(demo, target_profile=pd.concat([others, shape], ignore_index=True))
    said = [f.what for f in size_doubts(spoilt, mandrel_profiles(spoilt)) if f.stops and f.subject == "PLOVER-bell"]
    assert any(f"it fits mandrel '{other.removesuffix('-bell')}'" in what for what in said)


def books(demo: Book, shared: Path) -> dict[str, Book]:
    """The demo and the three sample shops."""
    return {"demo": demo, **{f"sample{k}": read_book(shared / f"sample-shop{k}")[0] for k in ("", "-inch", "-laid")}}


def profiles(every: dict[str, Book]) -> Iterator[tuple[str, str, Callable[[str, np.random.Generator], Planted]]]:
    """Every target, and every revision of every mandrel, with what plants a kind of slip into it."""
    for book in every.values():
        for target in book.targets["target_id"]:
            yield "targets", str(target), lambda kind, rng, b=book, t=target: plant_target(b, t, kind, rng)
        for mandrel, revision in zip(book.mandrels["mandrel_id"], book.mandrels["revision"].astype(int), strict=True):
            what = "revisions" if revision else "first profiles"
            yield what, str(mandrel), lambda kind, rng, b=book, m=mandrel, r=revision: plant_mandrel(b, m, r, kind, rng)


@pytest.mark.benchmark
def test_the_table_of_profiles(demo: Book, shared: Path) -> None:
    named: Counter[tuple[str, str]] = Counter()
    planted: Counter[tuple[str, str]] = Counter()
    rng = np.random.default_rng(1)
    for what, _, plant in profiles(books(demo, shared)):
        for kind in PROFILE_KINDS:
            planted[what, kind] += 1
            named[what, kind] += stopped(plant(kind, rng))
    for key, count in planted.items():
        print(f"{key[0]:15s} {key[1]:34s} {named[key]:3d} of {count}")
    assert sum(named.values()) >= NAMED_OF_PROFILES * sum(planted.values())


def told(book: Book) -> set[tuple[str, str, int | None, str]]:
    """The doubts about a book."""
    return {(f.subject, f.file, f.row, f.what) for f in doubts(book) if f.grade == "doubt"}


@pytest.mark.benchmark
@pytest.mark.parametrize(
    ("what", "kinds"), [("readings", READING_KINDS), ("batches", BATCH_KINDS), ("gauges", GAUGE_KINDS)]
)
def test_the_table_of_records(what: str, kinds: dict[str, Plant], demo: Book, shared: Path) -> None:
    every, rng = books(demo, shared), np.random.default_rng(1)
    before = {name: told(book) for name, book in every.items()}
    named, planted = 0, 0
    for kind, plant in kinds.items():
        found, tried = 0, 0
        for name, book in every.items():
            try:
                spoilt, subjects = plant(book, rng)
            except LookupError:
                continue  # the shop has no such readings
            tried += 1
            found += any(subject in subjects for subject, *_ in told(spoilt) - before[name])
        print(f"{what:9s} {kind:45s} {found} of {tried}", flush=True)
        named, planted = named + found, planted + tried
    assert named >= LEAST_NAMED[what] * planted
