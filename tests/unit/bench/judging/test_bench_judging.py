"""A value as it is typed is judged by the checks of the book, in the words that `check` uses of it afterwards."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from springfit.bench.entry.desk import Desk
from springfit.bench.entry.entry_place import Place
from springfit.bench.entry.finishing import finish
from springfit.bench.judging.as_typed import Judged
from springfit.bench.judging.judge import Judge, steel_of
from springfit.records.reading import check_book, read_book
from tests.helpers.bench_page import bench_events as made

SHEET = "sheet0001"


class Bench:
    """A sheet of OAK in the small book, judged value by value."""

    def __init__(self, folder: Path) -> None:
        self.folder = made.small(folder)
        self.desk = Desk(self.folder)
        book = read_book(self.folder)[0]
        self.judge = Judge(lambda: book)
        self.desk.take(SHEET, made.start())
        self.desk.take(SHEET, made.bell())

    def type(self, place: Place, typed: str, **more: str) -> Judged:
        """What is said of a value as it is typed."""
        return self.judge.judged(self.desk.take(SHEET, made.reading(place, typed, **more)), place)


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path / "book")


def test_sound_values_are_not_doubted_and_lie_on_their_curve(bench: Bench) -> None:
    for z in range(60, 380, 20):
        said = bench.type(made.place(fixed=str(z)), made.sound(z, 0.03))
        assert not said.findings, [finding.line() for finding in said.findings]
        assert said.dot[0] == pytest.approx(z)
        # the steel between its stations is drawn straight, and OAK was plated by 0.01 mm a side
        assert said.dot[1] == pytest.approx(0.03 - 0.01, abs=0.08)


def test_a_slip_is_doubted_as_check_will_say_it(bench: Bench) -> None:
    for z in range(60, 380, 20):
        slipped = z == 200
        typed = made.sound(z)
        if slipped:
            typed = f"{float(typed) + 1.0:.3f}"  # a figure off: 14 for 13
        said = bench.type(made.place(fixed=str(z)), typed)
        if z >= 120 and not slipped:
            assert not said.findings, (z, [finding.line() for finding in said.findings])
        if slipped:
            typed_words = [finding.what for finding in said.findings]
    again = bench.judge.judged(bench.desk.sheet(SHEET), made.place(fixed="200"))
    finish(bench.folder, bench.desk, SHEET)
    checked = [one.what for one in check_book(bench.folder) if one.sets_row_aside and one.subject == "B9-1"]
    assert len(checked) == 1 and "borne out neither" in checked[0]
    assert typed_words == checked, "the same words as it is typed"
    assert [finding.what for finding in again.findings] == checked
    assert again.findings[0].remedy.startswith("was it ")


@pytest.mark.parametrize(
    ("factor", "words"),
    [(0.5, "the radius was typed for the diameter"), (25.4, "inches were typed in a mm column"),
     (1 / 25.4, "typed in"), (2.0, "doubled"), (10.0, "decimal point")],
)  # fmt: skip
def test_the_first_value_already_names_the_mistake(bench: Bench, factor: float, words: str) -> None:
    said = bench.type(made.place(fixed="360"), f"{float(made.sound(360)) * factor:.3f}")
    if factor == 25.4:
        assert said.findings and said.findings[0].grade in ("doubt", "error")
    else:
        assert any(words in finding.what for finding in said.findings), [one.line() for one in said.findings]


@pytest.mark.parametrize(
    ("typed", "unit"), [("abc", "mm"), ("1,5", "mm"), ("-3", "mm"), ("0", "mm"), ("99999", "mm"), ("2-3/7", "in")]
)
def test_what_cannot_be_is_an_error(bench: Bench, typed: str, unit: str) -> None:
    said = bench.type(made.place(fixed="200"), typed, unit=unit)
    assert [finding.grade for finding in said.findings] == ["error"]
    assert said.findings[0].expected


def test_an_impossible_value_does_not_spoil_the_next(bench: Bench) -> None:
    bench.type(made.place(fixed="200"), "abc")
    assert not bench.type(made.place(fixed="220"), made.sound(220)).findings


def test_a_wall_is_held_against_its_sheet(bench: Bench) -> None:
    assert not bench.type(made.place(fixed="200", kind="wall"), "0.49").findings
    said = bench.type(made.place(fixed="220", kind="wall"), "0.049")
    assert [finding.sets_aside for finding in said.findings] == [True]


def test_a_clearance_is_judged_and_shown(bench: Bench) -> None:
    said = bench.type(made.place(fixed="300", kind="clearance", gauge="FEEL"), "0.05")
    assert (not said.findings, said.dot) == (True, (300.0, 0.05))
    wide = bench.type(made.place(fixed="320", kind="clearance", gauge="FEEL"), "5")
    assert any("clearance" in finding.what for finding in wide.findings)


def test_what_was_read_again_and_stands_is_not_asked_again(bench: Bench) -> None:
    doubled = f"{float(made.sound(360)) * 2:.3f}"
    assert bench.type(made.place(fixed="360"), doubled).findings
    event = next(iter(bench.desk.sheet(SHEET).readings.values())).event_id
    bench.type(made.place(fixed="360"), doubled, answer="stands", replaces=event)
    said = bench.type(made.place(fixed="340"), f"{float(made.sound(340)) * 2:.3f}")
    assert not [finding for finding in said.findings if "doubled" in finding.what]


def test_a_skipped_place_is_not_judged(bench: Bench) -> None:
    said = bench.type(made.place(fixed="200"), "", outcome="skipped")
    assert not said.findings and math.isnan(said.dot[0])


def test_the_steel_is_that_of_the_day(bench: Bench) -> None:
    book = read_book(bench.folder)[0]
    assert steel_of(book, bench.desk.sheet(SHEET)) == ("OAK", 1)
    bench.desk.take("sheet0002", made.start("B10", spun_on="2025-02-01"))
    assert steel_of(book, bench.desk.sheet("sheet0002")) == ("OAK", 0)
    bench.desk.take("sheet0003", made.start("B11", mandrel_id="NONE"))
    assert steel_of(book, bench.desk.sheet("sheet0003")) is None


def test_dots_stand_for_what_was_typed_and_there_is_none_before(bench: Bench) -> None:
    for kind in ("outside_diameter", "clearance", "wall"):
        place = made.place(fixed="200", kind=kind)
        assert bench.judge.dots(bench.desk.sheet(SHEET), place, 60) == []
        bench.type(place, "abc")
        assert bench.judge.dots(bench.desk.sheet(SHEET), place, 60) == []
        there = made.place(fixed="220", kind=kind)
        said = bench.type(there, {"outside_diameter": made.sound(220), "clearance": "0.05", "wall": "0.49"}[kind])
        assert bench.judge.dots(bench.desk.sheet(SHEET), there, 60) == [said.dot]


def test_the_curve_is_that_of_the_bells_before(bench: Bench) -> None:
    ribbon = bench.judge.curve(bench.desk.sheet(SHEET), made.place())
    assert [low <= high for _, low, high in ribbon] == [True] * len(ribbon)
    assert 40 <= ribbon[0][0] < ribbon[-1][0] <= 380
