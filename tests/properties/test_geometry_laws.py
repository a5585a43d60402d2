"""Laws every meridian obeys, on flares drawn at random."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from springfit.geometry.meridian import Meridian, meridian_from_stations, offset
from springfit.geometry.seating import best_slide, nearest_point, slid
from tests.helpers.corrections.made_meridians import meridian_from_arc

A_TENTH_OF_A_MICRON = 1e-4  # [mm]
SLIDE_SHARE = 0.02  # of the slide, the second-order part of moving a curved bell by it


@st.composite
def flares(draw: st.DrawFn) -> Meridian:
    """Smooth flares of bell sizes: tail 4-12 mm, length 60-500 mm, rim slope 10-85 degrees."""
    length = draw(st.floats(60.0, 500.0))
    tail_slope, rim_slope = draw(st.floats(0.005, 0.06)), np.radians(draw(st.floats(10.0, 85.0)))
    run = draw(st.floats(30.0, 120.0))
    s = np.linspace(0.0, length, int(length / 0.5) + 1)
    slope = tail_slope + (rim_slope - tail_slope) * np.exp((s - length) / run)
    return meridian_from_arc(s, slope, z0=0.0, r0=draw(st.floats(4.0, 12.0)))


@given(flares(), st.floats(-2.0, 2.0))
@settings(max_examples=60, deadline=None)
def test_a_meridian_offset_by_d_lies_at_d(meridian: Meridian, distance: float) -> None:
    moved = offset(meridian, distance)
    s, found = nearest_point(meridian, moved.z[1:-1], moved.r[1:-1])
    np.testing.assert_allclose(found, distance, atol=A_TENTH_OF_A_MICRON)
    np.testing.assert_allclose(s, meridian.s[1:-1], atol=1e-3)


@given(flares(), st.floats(-2.0, 2.0))
@settings(max_examples=40, deadline=None)
def test_offset_there_and_back(meridian: Meridian, distance: float) -> None:
    back = offset(offset(meridian, distance), -distance)
    for name in ("s", "z", "r", "slope", "curvature"):
        np.testing.assert_allclose(getattr(back, name), getattr(meridian, name), atol=1e-9)


@given(flares(), st.floats(-3.0, 3.0))
@settings(max_examples=40, deadline=None)
def test_slide_there_and_back(meridian: Meridian, distance: float) -> None:
    back = slid(slid(meridian, distance), -distance)
    np.testing.assert_allclose(back.z, meridian.z, atol=1e-9)
    np.testing.assert_array_equal(back.r, meridian.r)


@given(flares(), st.floats(0.05, 0.3), st.sampled_from([-1.0, 1.0]))
@settings(max_examples=40, deadline=None)
def test_the_slide_of_a_slid_bell_is_found(meridian: Meridian, size: float, sign: float) -> None:
    """Exactly by the linear rule; from true normal gaps up to second order in slide times curvature."""
    distance = sign * size
    assert np.isclose(best_slide(meridian.slope, -distance * np.sin(meridian.slope)), distance)
    bell = slid(meridian, distance)
    s, gap = nearest_point(meridian, bell.z, bell.r)
    seen = np.isfinite(gap)
    found = best_slide(meridian.at(s[seen]).slope, gap[seen])
    assert abs(found - distance) < SLIDE_SHARE * size


@given(flares(), st.floats(0.1, 0.95))
@settings(max_examples=40, deadline=None)
def test_a_radius_is_reached_where_the_line_has_it(meridian: Meridian, share: float) -> None:
    """Within what the arc between two stations stands off its chord, h^2 / 8 of curvature, over the slope's sine."""
    here = meridian.at(share * meridian.length)
    sag = np.diff(meridian.s).max() ** 2 / 8 * meridian.curvature.max()
    assert abs(float(meridian.arc_reaching(here.r)) - share * meridian.length) < 1.1 * sag / np.sin(here.slope)


@given(flares(), st.integers(0, 2**32 - 1))
@settings(max_examples=25, deadline=None)
def test_stations_in_a_meridian_out(meridian: Meridian, seed: int) -> None:
    """Stations 2-5 mm apart with micrometer noise come back within it, with no wave added: within what was stated, or
    what the few stations of a short line happened to be read with."""
    random = np.random.default_rng(seed)
    s = np.append(0.0, np.cumsum(random.uniform(2.0, 5.0, 300)))
    points = meridian.at(s[s < meridian.length])
    noise = random.normal(0.0, 0.003, points.s.size)
    fitted = meridian_from_stations(points.z, 2 * points.r + noise, diameter_error=0.003)
    _, off = nearest_point(meridian, fitted.z, fitted.r)
    assert np.nanstd(off) < max(0.0015, float(np.std(noise)) / 2)
    assert np.nanmax(np.abs(off)) < 0.006
