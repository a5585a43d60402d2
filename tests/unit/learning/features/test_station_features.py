"""Features along a bell say what they are named for, on curves whose answer is plain."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.geometry.meridian import Meridian
from springfit.learning.features.station_features import STATION_FEATURES, StationInputs, facet
from tests.helpers.corrections.made_meridians import meridian_from_arc

WALL, DRAW_END, RIM = 0.5, 150.0, 300.0
FEATURES = {feature.name: feature for feature in STATION_FEATURES}


def inputs(line: Meridian) -> StationInputs:
    return StationInputs(line.at(np.arange(0.0, RIM + 0.1, 1.0)), WALL, DRAW_END, RIM)


def arc_of_a_circle(*, corner: float = 0.0) -> Meridian:
    """A flare that opens evenly from 0 to 60 degrees; with a `corner` [rad] rounded over a few mm at arc 220."""
    s = np.linspace(0.0, RIM, 1201)
    slope = np.radians(60.0) * s / RIM + corner * 0.5 * (1 + np.tanh((s - 220.0) / 4.0))
    return meridian_from_arc(s, slope, z0=0.0, r0=6.0)


def told(name: str, line: Meridian) -> np.ndarray:
    return FEATURES[name].value(inputs(line))


def test_every_feature_is_one_number_a_station_with_its_reason() -> None:
    line = arc_of_a_circle()
    for feature in STATION_FEATURES:
        values = feature.value(inputs(line))
        assert values.shape == inputs(line).points.s.shape and np.all(np.isfinite(values)), feature.name
        assert feature.unit and feature.reason and feature.sign in (-1, 0, 1)
    assert len(FEATURES) == len(STATION_FEATURES)


def test_drawn_below_the_draw_end_and_spun_above() -> None:
    zone, overlap = told("zone", arc_of_a_circle()), told("overlap", arc_of_a_circle())
    assert zone[100] < 0.001 and zone[200] > 0.999
    assert 150 <= int(np.argmax(overlap)) <= 160 and overlap[250] < 0.01
    undrawn = StationInputs(inputs(arc_of_a_circle()).points, WALL, 0.0, RIM)
    assert np.all(FEATURES["zone"].value(undrawn) == 1.0)


def test_the_usual_rim_is_the_origin_of_radius_over_wall() -> None:
    line, values = arc_of_a_circle(), told("radius_over_wall", arc_of_a_circle())
    r = line.at(np.arange(0.0, RIM + 0.1, 1.0)).r
    assert np.interp(60.0, r, values) == pytest.approx(0.0, abs=0.01)
    assert np.all(np.diff(values) > 0)


def test_a_fair_flare_has_no_facet_and_a_corner_has_one() -> None:
    inside = slice(40, 260)  # a neighbourhood lies within the bell
    fair, cornered = facet(inputs(arc_of_a_circle())), facet(inputs(arc_of_a_circle(corner=0.05)))
    assert np.max(np.abs(fair[inside])) < 1e-5
    assert int(np.argmax(cornered[inside])) + 40 == pytest.approx(220, abs=2)
    assert cornered[220] > 0.001
