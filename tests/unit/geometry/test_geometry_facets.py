"""Facets: planted ones found in place, kind and size, none on fair flares, no depth from stations too sparse."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
import pytest

from springfit.geometry.facets.finder import Facet, FacetFinder
from springfit.geometry.meridian import meridian_from_stations, offset
from tests.helpers.originals.facet_lines import FAIR, INCH, Line, Planted, stations

STATED = 0.005  # [mm] 1 sd of a diameter, as the program states it
FALSE_HITS = 0.02  # share of fair flares on which a facet may be found
PLACE, WIDTH, DEPTH = 3.0, 0.25, 0.25  # [mm], share of the width, share of the depth
DISH = 38.0  # [mm]
FEW = 2  # horns; ten of them take a quarter of a minute and are tried by hand
MORE = pytest.mark.benchmark
SPACINGS = (INCH / 8, INCH / 4, INCH / 2)


def finder(
    line: Line, spacing: float, error: float, seed: int, facets: Sequence[Planted] = ()
) -> FacetFinder:
    z, diameter = stations(line, spacing, error, np.random.default_rng(seed), facets)
    return FacetFinder(
        meridian_from_stations(z, diameter, diameter_error=STATED), z, diameter, diameter_error=STATED
    )


def horn(seed: int) -> Line:
    return FAIR["bessel"](np.random.default_rng(seed))


def where(line: Line, degrees: float) -> float:
    return float(line.s[np.searchsorted(line.slope, np.radians(degrees))])


@cache
def dished() -> FacetFinder:
    """A horn with a dish at 12 degrees; facets are looked for once."""
    line = horn(4)
    return finder(line, INCH / 8, 0.005, 4, [Planted(where(line, 12.0), DISH, depth=0.08)])


def near(found: Sequence[Facet], place: float) -> list[Facet]:
    return [facet for facet in found if abs(facet.s - (place - 2.0)) < 2 * PLACE]


@pytest.mark.parametrize(("seeds", "whole"), [(1, False), pytest.param(8, True, marks=MORE)])
def test_fair_flares_have_no_facets(seeds: int, whole: bool) -> None:
    """Every family; at every spacing, or at one of them each."""
    hits, tried = [], 0
    for seed in range(seeds):
        for number, (name, family) in enumerate(FAIR.items()):
            for spacing in SPACINGS if whole else SPACINGS[number % 3 :][:1]:
                line = family(np.random.default_rng(1000 + seed))
                error = (0.005, 0.01, 0.02)[seed % 3]
                tried += 1
                if finder(line, spacing, error, seed).facets:
                    hits.append((name, spacing, error, seed))
    assert len(hits) <= FALSE_HITS * tried, hits


@pytest.mark.parametrize("depth, kind", [(0.08, "dish"), (-0.08, "crown")])
@pytest.mark.parametrize(
    ("spacing", "horns"),
    [(INCH / 4, FEW), pytest.param(INCH / 4, 10, marks=MORE), pytest.param(INCH / 8, 10, marks=MORE)],
)
def test_a_shallow_dish_or_crown_is_found_as_it_was_made(depth: float, kind: str, spacing: float, horns: int) -> None:
    found = []
    for seed in range(horns):
        line = horn(seed)
        place = where(line, 8.0 + seed)
        facets = finder(line, spacing, 0.005, seed, [Planted(place, DISH, depth=depth)]).facets
        found += [one for one in near(facets, place) if one.kind == kind][:1]
        assert len(facets) <= 2
    assert len(found) >= 0.9 * horns
    assert all(one.tells_depth for one in found)
    assert np.median([abs(one.depth / abs(depth) - 1) for one in found]) < DEPTH / 2
    assert np.max([abs(one.depth / abs(depth) - 1) for one in found]) < DEPTH
    assert np.max([abs(one.width / DISH - 1) for one in found]) < WIDTH


@pytest.mark.parametrize("turn, kind", [(0.02, "join"), (-0.02, "ridge")])
@pytest.mark.parametrize("horns", [FEW, pytest.param(10, marks=MORE)])
def test_a_corner_between_two_arcs_is_found_with_its_angle(turn: float, kind: str, horns: int) -> None:
    found = []
    for seed in range(horns):
        line = horn(seed)
        place = where(line, 8.0 + seed)
        facets = finder(line, INCH / 8, 0.005, seed, [Planted(place, 4.0, turn=turn)]).facets
        found += [one for one in near(facets, place) if one.kind == kind][:1]
    assert len(found) >= 0.8 * horns
    assert np.max([abs(one.kink / turn - 1) for one in found]) < DEPTH


@pytest.mark.parametrize("horns", [2, pytest.param(12, marks=MORE)])
def test_half_inch_stations_tell_no_depth_and_say_what_would(horns: int) -> None:
    told = []
    for seed in range(horns):
        line = horn(seed)
        place = where(line, 8.0 + seed)
        told += near(finder(line, INCH / 2, 0.005, seed, [Planted(place, DISH, depth=0.12)]).facets, place)
    assert len(told) >= horns / 4
    assert not any(one.tells_depth for one in told)
    dishes = [one for one in told if one.kind == "dish"]
    assert dishes and all(INCH / 8 <= one.widest_spacing < INCH / 2 for one in dishes)


def test_one_misread_station_is_no_facet() -> None:
    line = horn(3)
    z, diameter = stations(line, INCH / 4, 0.005, np.random.default_rng(3))
    diameter[diameter.size // 2] += 0.2
    meridian = meridian_from_stations(z, diameter, diameter_error=STATED)
    assert FacetFinder(meridian, z, diameter, diameter_error=STATED).facets == ()


def test_too_few_stations_have_no_facets() -> None:
    z, diameter = (values[::8] for values in stations(horn(1), INCH / 4, 0.005, np.random.default_rng(1)))
    meridian = meridian_from_stations(z, diameter, diameter_error=STATED)
    assert FacetFinder(meridian, z, diameter, diameter_error=STATED).facets == ()


@pytest.mark.parametrize("slope", [0.0, 0.2, 0.9])
@pytest.mark.parametrize("length", [60.0, 150.0])
def test_a_plain_tube_or_cone_has_no_facets(slope: float, length: float) -> None:
    z = np.arange(0.0, length, INCH / 8)
    diameter = 20.0 + 2 * z * np.tan(slope) + 0.01 * np.random.default_rng(2).standard_normal(z.size)
    meridian = meridian_from_stations(z, diameter, diameter_error=STATED)
    assert FacetFinder(meridian, z, diameter, diameter_error=STATED).facets == ()


@pytest.mark.parametrize("share", [0.5, 1.0, 1.3])
def test_a_bell_that_fills_a_dish_keeps_what_is_left(share: float) -> None:
    looked = dished()
    (facet,) = looked.facets
    bell = looked.meridian
    smooth = 0.2 * (bell.s / bell.length) ** 4  # springback that grows into the flare
    kept, shift = looked.kept(facet, bell, smooth + facet.deepened(bell.s, (share - 1) * facet.depth))
    assert kept == pytest.approx(share, abs=0.03)
    assert abs(shift) < 1.0


def test_a_facet_let_into_a_line_is_found_there_as_deep() -> None:
    plain, line = finder(horn(5), INCH / 8, 0.005, 5), horn(5)
    place = where(line, 12.0)
    (facet,) = finder(line, INCH / 8, 0.005, 6, [Planted(place, DISH, depth=0.08)]).facets
    cut, there = plain.with_facet(facet)
    fresh = FacetFinder(cut.meridian, cut.z, 2 * cut.r, diameter_error=STATED)
    (again,) = fresh.facets
    assert again.s == pytest.approx(there.s, abs=PLACE)
    assert again.depth == pytest.approx(facet.depth, rel=DEPTH)
    assert offset(plain.meridian, there.deepened(plain.meridian.s, facet.depth)).length > 0


def test_a_line_is_not_told_as_another_that_differs() -> None:
    line = horn(4)
    there = where(line, 12.0) - 60.0
    one = dished()
    other = finder(line, INCH / 8, 0.005, 5, [Planted(there, DISH, depth=0.08)])
    assert one.told_as(other).facets == one.facets
    assert one.told_as(finder(line, INCH / 8, 0.005, 6)).facets == one.facets
