"""Facets of whole record books: those that were planted and no others."""

from __future__ import annotations

from pathlib import Path

import pytest

from springfit.decisions.job import job_from_book
from springfit.demo.locate import demo_folder
from springfit.demo.story import TEAL_DISHES
from springfit.records.book import Book
from springfit.records.reading import read_book

PLACE, DEPTH, WIDTH = 2.0, 0.02, 4.0  # [mm]


@pytest.fixture(scope="module")
def demo() -> Book:
    return read_book(demo_folder() / "demo-shop")[0]


def test_only_the_dished_mandrel_of_the_demo_shop_has_facets(demo: Book) -> None:
    for target in map(str, demo.targets["target_id"]):
        job = job_from_book(demo, target)
        count = len(TEAL_DISHES) if job.mandrel_id == "TEAL" else 0
        assert len(job.mandrel_facets.facets) == len(job.target_facets.facets) == count, target


def test_the_dishes_of_the_demo_shop_are_as_they_were_turned(demo: Book) -> None:
    job = job_from_book(demo, "TEAL-bell")
    for found in (job.mandrel_facets.facets, job.target_facets.facets):
        for facet, (place, width, depth) in zip(found, TEAL_DISHES, strict=True):
            assert facet.kind == "dish"
            assert facet.s == pytest.approx(place, abs=PLACE)
            assert facet.width == pytest.approx(width, abs=WIDTH)
            assert facet.depth == pytest.approx(depth, abs=DEPTH)


def test_fair_mandrels_of_the_sample_shop_have_none_and_those_of_arcs_have_some(shared: Path) -> None:
    """ALDER, CEDAR and FIR have a stretch of two arcs let into the flare, which stands out of it at one end, as their
    curvature shows; BIRCH and ELM have not."""
    book, _ = read_book(shared / "sample-shop")
    for mandrel in ("ALDER", "BIRCH", "CEDAR", "ELM", "FIR"):
        facets = job_from_book(book, f"{mandrel}-T").mandrel_facets.facets
        assert bool(facets) == (mandrel in ("ALDER", "CEDAR", "FIR")), mandrel
        assert all(0.02 < facet.depth < 0.15 for facet in facets)


@pytest.mark.parametrize("mandrel", ["ALDER", "CEDAR", "FIR"])
def test_steel_and_target_of_the_sample_shop_are_told_in_the_same_facets(shared: Path, mandrel: str) -> None:
    book, _ = read_book(shared / "sample-shop")
    job = job_from_book(book, f"{mandrel}-T")
    steel, target = job.mandrel_facets, job.target_facets
    alike = steel.told_as(target)
    steel, target = (alike, target) if alike.facets != steel.facets else (steel, target.told_as(steel))
    assert [one.kind for one in steel.facets] == [one.kind for one in target.facets]
    for one, other in zip(steel.facets, target.facets, strict=True):
        assert one.z == pytest.approx(other.z, abs=5 * PLACE)
        assert one.depth == pytest.approx(other.depth, abs=2 * DEPTH)
