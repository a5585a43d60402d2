"""Every two facets asked together: as each pair by itself, and the planted pair among the likeliest."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.geometry.facets.fair_flare import FairFlare
from springfit.geometry.facets.search import Search
from springfit.geometry.meridian import meridian_from_stations
from springfit.survey.facet_search import FamilySearch, explain_family
from springfit.survey.likely_facets import likely_facets
from tests.helpers.originals.facet_lines import FAIR, Planted, stations

DIAMETER_ERROR = 0.008  # [mm]: as several bells together are known
TURN = 0.0085  # [rad]: a corner some 0.075 mm deep under 38 mm
PLANTED = (0.12, 0.42)  # [rad] slopes of the flare at which corners lie
NEAR_MM = 6.0


@pytest.fixture(scope="module")
def corners() -> tuple[FairFlare, list[float]]:
    """A Bessel horn with two corners far apart, and their arcs."""
    draw = np.random.default_rng(5)
    line = FAIR["bessel"](draw)
    places = [float(line.s[np.searchsorted(line.slope, slope)]) for slope in PLANTED]
    planted = [Planted(at, 4.0, turn=TURN) for at in places]
    z, diameter = stations(line, 2.5, DIAMETER_ERROR, draw, planted)
    meridian = meridian_from_stations(z, diameter, diameter_error=DIAMETER_ERROR)
    flare = FairFlare(meridian, z, diameter / 2, r_error=DIAMETER_ERROR / 2, z_error=0.0)
    return flare, [at - 2.0 for at in places]  # the first station lies 2 mm along the line


def test_each_pair_is_as_likely_as_by_itself(corners: tuple[FairFlare, list[float]]) -> None:
    flare, _ = corners
    columns = Search(flare).facet_columns[:, 3::97]
    evidence = flare.evidence_of_pairs(columns)
    assert evidence == pytest.approx(evidence.T)
    for i in range(columns.shape[1]):
        assert evidence[i, i] == pytest.approx(flare.learned(columns[:, [i]]).evidence, abs=1e-6)
        for j in range(i):
            assert evidence[i, j] == pytest.approx(flare.learned(columns[:, [j, i]]).evidence, abs=1e-6)


def test_corners_far_apart_are_the_likeliest_pair(corners: tuple[FairFlare, list[float]]) -> None:
    flare, places = corners
    assert places[1] - places[0] > 60.0, "farther apart than pairs are looked for on one line"
    first = sorted(term.place for term in likely_facets(FamilySearch(flare))[0])
    assert first == pytest.approx(places, abs=NEAR_MM)


def test_both_are_found(corners: tuple[FairFlare, list[float]]) -> None:
    flare, places = corners
    found = explain_family(flare).facets
    assert sorted(term.place for term in found) == pytest.approx(places, abs=NEAR_MM)
    assert {term.shape for term in found} == {"join"}
