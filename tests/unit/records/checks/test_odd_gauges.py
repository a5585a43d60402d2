"""A ball's diameter typed for its radius, told by what its stylus reads beside the other gauges."""

from __future__ import annotations

from dataclasses import replace

import pytest

from springfit.demo.locate import demo_folder
from springfit.findings import Finding
from springfit.records.book import Book
from springfit.records.checks.odd_gauges import odd_balls
from springfit.records.checks.rough_gaps import mandrel_profiles, rough_gaps
from springfit.records.reading import read_book


@pytest.fixture(scope="module")
def demo() -> Book:
    return read_book(demo_folder() / "demo-shop")[0]


def told(book: Book, times: float) -> list[Finding]:
    """The doubts about balls where every stated radius is `times` what it is."""
    gauges = book.gauges.assign(ball_radius_mm=book.gauges["ball_radius_mm"] * times)
    of = mandrel_profiles(book)
    return odd_balls(replace(book, gauges=gauges), rough_gaps(book, of), of)


def test_a_sound_stylus_is_believed(demo: Book) -> None:
    assert not told(demo, 1.0)


def test_a_diameter_for_a_radius_is_told_with_the_radius_it_would_be(demo: Book) -> None:
    (finding,) = told(demo, 2.0)
    assert (finding.subject, finding.column, finding.grade) == ("STYLUS", "ball_radius_in", "doubt")
    assert "39.4 thou" in finding.remedy  # a ball of 1 mm radius, which the invented shop has


def test_a_book_without_a_stylus_is_asked_nothing(demo: Book) -> None:
    assert not told(demo, 0.0)
