"""Facets of whole record books: those that were planted and no others."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from springfit.decisions.job import Job, job_from_book
from springfit.demo.locate import demo_folder
from springfit.demo.story import TEAL_DISHES
from springfit.records.book import Book
from springfit.records.reading import read_book
from tests.helpers.programs.kept_shop import LAID_SHOP

PLACE, DEPTH, WIDTH = 2.0, 0.02, 4.0  # [mm]
MORE = pytest.mark.benchmark  # seconds a line
DEMO = demo_folder() / "demo-shop"
DISHED, ARCS = "TEAL", ("ALDER", "CEDAR", "FIR")


@cache
def book(folder: Path) -> Book:
    return read_book(folder)[0]


@cache
def job(folder: Path, target: str) -> Job:
    """A target of a book; facets are looked for once."""
    return job_from_book(book(folder), target)


@pytest.mark.parametrize("whole", [False, pytest.param(True, marks=MORE)])
def test_only_the_dished_mandrel_of_the_demo_shop_has_facets(whole: bool) -> None:
    targets = [str(target) for target in book(DEMO).targets["target_id"]]
    for target in targets if whole else (f"{DISHED}-bell", "WREN-bell"):
        told = job(DEMO, target)
        count = len(TEAL_DISHES) if told.mandrel_id == DISHED else 0
        assert len(told.mandrel_facets.facets) == len(told.target_facets.facets) == count, target


def test_the_dishes_of_the_demo_shop_are_as_they_were_turned() -> None:
    told = job(DEMO, f"{DISHED}-bell")
    for found in (told.mandrel_facets.facets, told.target_facets.facets):
        for facet, (place, width, depth) in zip(found, TEAL_DISHES, strict=True):
            assert facet.kind == "dish"
            assert facet.s == pytest.approx(place, abs=PLACE)
            assert facet.width == pytest.approx(width, abs=WIDTH)
            assert facet.depth == pytest.approx(depth, abs=DEPTH)


@pytest.mark.parametrize("target", ["ASH-T", "COB-T"])
def test_fair_mandrels_of_the_kept_shop_have_none(target: str) -> None:
    """Both were drawn as fair lines (`tests.worlds.mandrels`), one of them plated since."""
    told = job(LAID_SHOP, target)
    assert not told.mandrel_facets.facets and not told.target_facets.facets


@pytest.mark.parametrize(
    "mandrels", [("ALDER", "BIRCH"), pytest.param((*ARCS, "BIRCH", "ELM"), marks=MORE)], ids=["two", "all"]
)
def test_fair_mandrels_of_the_sample_shop_have_none_and_those_of_arcs_have_some(
    mandrels: tuple[str, ...], shared: Path
) -> None:
    """ALDER, CEDAR and FIR have a stretch of two arcs let into the flare, which stands out of it at one end, as their
    curvature shows; BIRCH and ELM have not."""
    for mandrel in mandrels:
        facets = job(shared / "sample-shop", f"{mandrel}-T").mandrel_facets.facets
        assert bool(facets) == (mandrel in ARCS), mandrel
        assert all(0.02 < facet.depth < 0.15 for facet in facets)


@pytest.mark.parametrize("mandrel", [ARCS[0], *(pytest.param(one, marks=MORE) for one in ARCS[1:])])
def test_steel_and_target_of_the_sample_shop_are_told_in_the_same_facets(shared: Path, mandrel: str) -> None:
    told = job(shared / "sample-shop", f"{mandrel}-T")
    steel, target = told.mandrel_facets, told.target_facets
    alike = steel.told_as(target)
    steel, target = (alike, target) if alike.facets != steel.facets else (steel, target.told_as(steel))
    assert [one.kind for one in steel.facets] == [one.kind for one in target.facets]
    for one, other in zip(steel.facets, target.facets, strict=True):
        assert one.z == pytest.approx(other.z, abs=5 * PLACE)
        assert one.depth == pytest.approx(other.depth, abs=2 * DEPTH)
