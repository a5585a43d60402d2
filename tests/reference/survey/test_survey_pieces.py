"""Pieces of a meridian: a taper and arcs of known radii with their joins, a Bessel horn that turns as it should.

Circle and cone are elementary; the horn is r = b (x + x0)^-gamma through its end radii (Smyth & Scott, Trombone
synthesis by model and measurement).
"""

from __future__ import annotations

import numpy as np
import pytest

from springfit.demo.spinning.families import bessel_horn
from springfit.geometry.meridian import Meridian, meridian_from_stations
from springfit.survey.pieces import pieces_of
from tests.helpers.originals.facet_lines import Line, bent

JOINS = (150.0, 260.0, 330.0)
RADII = (400.0, 150.0, 70.0)
JOIN_MM = 0.5
KNOWN = 0.005  # [mm] 1 sd of a station of the consensus


def _meridian(line: Line) -> Meridian:
    return Meridian(line.s, line.z, line.r, line.slope, line.curvature)


def _taper_and_arcs() -> Meridian:
    s = np.arange(0.0, 360.0, 0.5)
    curvature = np.select(
        [s < JOINS[0], s < JOINS[1], s < JOINS[2]], [0.0, *(1 / r for r in RADII[:2])], 1 / RADII[2]
    )
    return _meridian(bent(s, curvature, slope0=0.02, r0=7.0))


def test_a_taper_and_three_arcs_come_back() -> None:
    pieces = pieces_of(_taper_and_arcs(), KNOWN, 2.5)
    assert [one.kind for one in pieces] == ["taper", "arc", "arc", "arc"]
    assert [one.start for one in pieces[1:]] == pytest.approx(JOINS, abs=JOIN_MM)
    assert [1 / one.curvature for one in pieces[1:]] == pytest.approx(RADII, rel=0.01)
    assert pieces[0].slope == pytest.approx(0.02, abs=1e-4)
    assert all(0.0 < one.start_error < JOIN_MM for one in pieces[1:])


def test_joins_scatter_as_their_error_says_when_points_are_drawn_anew() -> None:
    """Points off by their error along the normal, smoothed as a consensus is: the joins stay where they were."""
    line, error = _taper_and_arcs(), 0.004
    points = line.at(np.linspace(0.0, line.length, int(line.length / 2.5) + 1))
    found = []
    for seed in range(8):
        off = error * np.random.default_rng(seed).standard_normal(points.s.size)
        z, r = points.z - off * np.sin(points.slope), points.r + off * np.cos(points.slope)
        smooth = meridian_from_stations(z, 2 * r, diameter_error=2 * error, z_error=error)
        starts = np.array([one.start for one in pieces_of(smooth, error, 2.5)[1:]])
        found.append([float(np.min(np.abs(starts - join))) for join in JOINS])
    assert np.median(found, axis=0) == pytest.approx(0.0, abs=2.0)


@pytest.mark.parametrize(
    "tail, rim, length, exponent",
    [(5.85, 61.5, 300.0, 0.6), (10.0, 108.0, 502.0, 0.7), (9.0, 155.0, 500.0, 0.9)],
)
def test_pieces_of_a_horn_turn_as_the_horn_does(
    tail: float, rim: float, length: float, exponent: float
) -> None:
    x0 = length / ((rim / tail) ** (1 / exponent) - 1)
    horn = bessel_horn(tail=tail, rim=rim, length=length, exponent=exponent)
    pieces = pieces_of(Meridian(horn.s, horn.z, horn.r, horn.slope, horn.curvature), KNOWN, 2.5)
    assert pieces[0].start == 0.0 and pieces[-1].end == pytest.approx(horn.length)
    for one in pieces:
        x = length - np.interp([one.start, one.end], horn.s, horn.z)
        slopes = np.arctan(
            exponent * rim * x0**exponent * (x + x0) ** (-exponent - 1)
        )  # from r = b (x + x0)^-gamma
        assert one.curvature * (one.end - one.start) == pytest.approx(float(slopes[1] - slopes[0]), abs=0.01)
