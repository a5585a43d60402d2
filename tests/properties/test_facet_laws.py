"""Laws of facets: another unit, a line moved along its axis and a line turned inside out change nothing else."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as draws

from springfit.geometry.facets.finder import Facet, FacetFinder
from springfit.geometry.meridian import meridian_from_stations
from tests.helpers.originals.facet_lines import FAIR, INCH, Planted, stations

STATED = 0.005  # [mm] 1 sd of a diameter
LINE = FAIR["bessel"](np.random.default_rng(4))
SAME_DEPTH, SAME_PLACE = 2e-3, 0.1  # [mm] what a rounded reading may do
EXAMPLES = pytest.mark.parametrize("examples", [2, pytest.param(8, marks=pytest.mark.benchmark)])  # seconds each
DEGREES = draws.floats(8.0, 20.0)


def facets(z: np.ndarray, diameter: np.ndarray) -> tuple[Facet, ...]:
    meridian = meridian_from_stations(z, diameter, diameter_error=STATED)
    return FacetFinder(meridian, z, diameter, diameter_error=STATED).facets


def measured(degrees: float, depth: float) -> tuple[np.ndarray, np.ndarray]:
    place = float(LINE.s[np.searchsorted(LINE.slope, np.radians(degrees))])
    draw = np.random.default_rng(7)
    return stations(LINE, INCH / 8, 0.003, draw, [Planted(place, 38.0, depth=depth)])


@EXAMPLES
def test_a_line_moved_along_its_axis_has_the_same_facets(examples: int) -> None:
    @settings(max_examples=examples, deadline=None)
    @given(degrees=DEGREES, along=draws.floats(-300.0, 300.0))
    def holds(degrees: float, along: float) -> None:
        z, diameter = measured(degrees, 0.1)
        here, there = facets(z, diameter), facets(z + along, diameter)
        assert len(here) == len(there) >= 1
        for one, other in zip(here, there, strict=True):
            assert other.kind == one.kind
            assert other.z - along == pytest.approx(one.z, abs=SAME_PLACE)
            assert other.depth == pytest.approx(one.depth, abs=SAME_DEPTH)

    holds()


@EXAMPLES
def test_a_record_in_inches_has_the_same_facets(examples: int) -> None:
    @settings(max_examples=examples, deadline=None)
    @given(degrees=DEGREES)
    def holds(degrees: float) -> None:
        z, diameter = measured(degrees, 0.1)
        inches = [np.round(values / INCH, 6) * INCH for values in (z, diameter)]
        here, there = facets(z, diameter), facets(*inches)
        assert [one.kind for one in here] == [one.kind for one in there] and here
        for one, other in zip(here, there, strict=True):
            assert (other.z, other.depth) == (
                pytest.approx(one.z, abs=SAME_PLACE),
                pytest.approx(one.depth, abs=SAME_DEPTH),
            )

    holds()


@EXAMPLES
def test_a_dish_turned_inside_out_is_a_crown(examples: int) -> None:
    @settings(max_examples=examples, deadline=None)
    @given(degrees=DEGREES, depth=draws.floats(0.08, 0.15))
    def holds(degrees: float, depth: float) -> None:
        hollow, proud = facets(*measured(degrees, depth)), facets(*measured(degrees, -depth))
        assert [one.kind for one in hollow] == ["dish"] and [one.kind for one in proud] == ["crown"]
        assert hollow[0].kink > 0 > proud[0].kink
        assert hollow[0].depth == pytest.approx(proud[0].depth, rel=0.3)

    holds()
