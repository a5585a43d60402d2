"""Profiles of the invented shop against their closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.demo.spinning.families import bessel_horn, exponential_flare, line_through, with_dishes

A_MICRON = 1e-3
CURVATURE_PER_MM = 1e-5


def test_a_circle_keeps_its_radius_of_curvature() -> None:
    slope = np.linspace(0.1, 1.4, 60)
    line = line_through(50.0 * np.sin(slope), 80.0 - 50.0 * np.cos(slope))
    assert line.length == pytest.approx(50.0 * 1.3, abs=A_MICRON)
    assert np.abs(line.curvature[5:-5] - 1.0 / 50.0).max() < CURVATURE_PER_MM
    assert np.abs(np.hypot(np.diff(line.z), np.diff(line.r)) / np.diff(line.s) - 1.0).max() < 1e-5


@pytest.mark.parametrize(("x", "radius"), [(10.0, 78.5274), (50.0, 41.7842), (150.0, 22.0949)])
def test_a_bessel_horn_runs_through_its_own_formula(x: float, radius: float) -> None:
    # r = b (x + x0)^-0.7 with x0 = 17.343430, b = 795.826230 from the end radii 10 and 108 over 502 mm.
    line = bessel_horn(tail=10.0, rim=108.0, length=502.0, exponent=0.7)
    assert np.interp(502.0 - x, line.z, line.r) == pytest.approx(radius, abs=2 * A_MICRON)


def test_a_horn_goes_on_past_its_rim_on_the_same_curve() -> None:
    plain = bessel_horn(tail=6.0, rim=60.0, length=340.0, exponent=0.65)
    longer = bessel_horn(tail=6.0, rim=60.0, length=340.0, exponent=0.65, beyond=9.0)
    assert longer.r[-1] == pytest.approx(69.0, abs=A_MICRON)
    at = np.linspace(5.0, plain.length - 1.0, 200)
    assert np.abs(longer.points_at(at)[1] - plain.points_at(at)[1]).max() < 2 * A_MICRON


def test_an_exponential_flare_meets_its_rim() -> None:
    line = exponential_flare(tail=5.6, rim=57.0, length=300.0, taper=0.03, reach=24.0, beyond=8.0)
    assert np.interp(300.0, line.z, line.r) == pytest.approx(57.0, abs=2 * A_MICRON)
    assert line.r[0] == pytest.approx(5.6, abs=A_MICRON)


def test_a_dish_is_as_deep_as_asked() -> None:
    plain = bessel_horn(tail=6.0, rim=60.0, length=340.0, exponent=0.65)
    dished = with_dishes(plain, ((250.0, 38.0, 0.08),))
    z, r, _ = plain.points_at(np.array([250.0]))
    near_z, near_r, _ = dished.points_at(np.arange(240.0, 260.0, 0.001))
    near = np.hypot(near_z - z, near_r - r).min()
    assert near == pytest.approx(0.08, abs=A_MICRON)
    assert (
        np.abs(np.interp(plain.z[plain.s < 225.0], dished.z, dished.r) - plain.r[plain.s < 225.0]).max()
        < A_MICRON
    )


def test_cutting_ends_at_the_radius() -> None:
    line = bessel_horn(tail=6.0, rim=60.0, length=340.0, exponent=0.65, beyond=5.0)
    assert line.cut_at(line.arc_at_radius(55.0)).r[-1] == pytest.approx(55.0, abs=5 * A_MICRON)


def test_a_radius_past_the_line_is_refused() -> None:
    line = bessel_horn(tail=6.0, rim=60.0, length=340.0, exponent=0.65)
    with pytest.raises(ValueError, match="not on this line"):
        line.arc_at_radius(61.0)
