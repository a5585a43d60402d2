"""Areas of revolution: a cone's frustum, pi (r1 + r2) slant, and a spherical zone, 2 pi R h (elementary)."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.spun_sheet import BEAD_ON_DIAMETER_MM
from springfit.survey.blank import ShopRims, Thinning, blank_for, surface_area

EXACT = 1e-5
NONE = Thinning(np.array([0.0, 1.0]), np.ones(2), 0)


def _cone(r1: float, r2: float, height: float) -> Meridian:
    slant = np.hypot(height, r2 - r1)
    s = np.linspace(0.0, slant, 50)
    slope = np.full(50, np.arctan2(r2 - r1, height))
    return Meridian(s, s * np.cos(slope), r1 + s * np.sin(slope), slope, np.zeros(50))


def _cap(radius: float, low: float, high: float) -> Meridian:
    """A sphere about the axis from polar angle `low` to `high` [rad], growing from its pole: r = R sin, z falls off."""
    angle = np.linspace(low, high, 400)
    slope = np.pi / 2 - angle  # along it z = -R cos(angle) grows, r = R sin(angle)
    z, r = -radius * np.cos(angle), radius * np.sin(angle)
    return Meridian(radius * (angle - low), z, r, slope, np.full(400, -1 / radius))


def test_frustum_of_a_cone() -> None:
    area = surface_area(_cone(10.0, 60.0, 120.0), NONE)
    assert area == pytest.approx(np.pi * 70.0 * np.hypot(120.0, 50.0), rel=EXACT)


@pytest.mark.parametrize("low, high", [(0.1, 0.9), (0.3, 1.5)])
def test_zone_of_a_sphere(low: float, high: float) -> None:
    height = 80.0 * (np.cos(low) - np.cos(high))
    assert surface_area(_cap(80.0, low, high), NONE) == pytest.approx(2 * np.pi * 80.0 * height, rel=EXACT)


def test_a_disc_of_a_cone_has_its_area_and_a_thinner_wall_a_smaller_disc() -> None:
    cone = _cone(10.0, 60.0, 120.0)
    whole = blank_for(cone, thinning=NONE, rims=None, wall=0.001)
    assert np.pi / 4 * whole.disc**2 == pytest.approx(whole.sheet_area)
    grown = _cone(10.0, whole.uncut / 2, 120.0 * (whole.uncut / 2 - 10.0) / 50.0)
    assert whole.sheet_area == pytest.approx(surface_area(grown, NONE), rel=1e-3)
    thin = blank_for(cone, thinning=Thinning(NONE.share, np.full(2, 0.9), 100), rims=None, wall=0.001)
    assert thin.sheet_area == pytest.approx(0.9 * whole.sheet_area, rel=1e-6)


def test_a_seamed_blank_has_the_same_area() -> None:
    blank = blank_for(_cone(10.0, 60.0, 120.0), thinning=NONE, rims=ShopRims(15.0, 12.0, 16.0, 9))
    assert (blank.tail_width + blank.rim_width) / 2 * blank.length == pytest.approx(blank.sheet_area)
    assert blank.trim == pytest.approx(120.0 + BEAD_ON_DIAMETER_MM)
    assert blank.uncut == pytest.approx(blank.trim + 15.0)  # as the shop's batches had it
