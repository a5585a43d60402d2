"""Smoothing keeps what a maker cut on purpose and adds nothing of its own."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from springfit.geometry.meridian import Meridian, meridian_from_stations
from springfit.geometry.seating import nearest_point
from tests.helpers.corrections.made_meridians import meridian_from_arc
from tests.helpers.programs.kept_shop import LAID_SHOP
from tests.helpers.repository import sample_shops

DISH_DEPTH, DISH_LENGTH = 0.08, 38.0  # [mm]
QUARTER_INCH = 6.35  # [mm]
KEPT_SHARE = 0.85
MICROMETER = 0.003  # [mm] 1 sd of a diameter


def flare(rim_slope: float, *, tail: float = 0.02, length: float = 420.0) -> Meridian:
    """A smooth flare with no inflection, from `tail` to `rim_slope` [rad]."""
    s = np.linspace(0.0, length, 2101)
    return meridian_from_arc(s, tail + (rim_slope - tail) * np.exp((s - length) / 45.0), z0=0.0, r0=6.0)


def inflections(curvature: np.ndarray) -> int:
    return int(np.count_nonzero(np.diff(np.sign(curvature))))


def measured(
    base: Meridian, s: np.ndarray, distance: np.ndarray, *, error: float, seed: int | None
) -> Meridian:
    points = base.at(s)
    z, r = points.z - distance * np.sin(points.slope), points.r + distance * np.cos(points.slope)
    noise = 0.0 if seed is None else np.random.default_rng(seed).normal(0.0, error, s.size)
    return meridian_from_stations(z, 2 * r + noise, diameter_error=error)


def depth_kept(base: Meridian, fitted: Meridian, centre: float) -> float:
    points = fitted.at(np.linspace(centre - 10.0, centre + 10.0, 41))
    return float(-np.nanmin(nearest_point(base, points.z, points.r)[1]) / DISH_DEPTH)


@pytest.mark.parametrize("centre", [60.0, 200.0, 330.0])
@pytest.mark.parametrize("phase", [0.0, 2.1, 4.2])
@pytest.mark.parametrize(
    ("error", "seed"), [(0.002, 1), (MICROMETER, 2), (0.005, 3), (0.005, 4), (0.015, None)]
)
def test_a_shallow_dish_stays(centre: float, phase: float, error: float, seed: int | None) -> None:
    base = flare(1.3)
    s = np.append(0.0, np.arange(QUARTER_INCH - phase, base.length, QUARTER_INCH))
    place = (s - centre) / DISH_LENGTH
    dish = np.where(abs(place) < 0.5, -0.5 * DISH_DEPTH * (1 + np.cos(2 * np.pi * place)), 0.0)
    fitted = measured(base, s, dish, error=error, seed=seed)
    assert depth_kept(base, fitted, centre) >= KEPT_SHARE


@pytest.mark.parametrize("rim_degrees", [80.0, 84.0, 87.0])
@pytest.mark.parametrize("spacing", [2.0, 3.5, 5.0])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_smooth_flare_gets_no_inflection(rim_degrees: float, spacing: float, seed: int) -> None:
    base = flare(np.radians(rim_degrees))
    s = np.linspace(0.0, base.length, round(base.length / spacing) + 1)
    fitted = measured(base, s, np.zeros_like(s), error=MICROMETER, seed=seed)
    assert inflections(fitted.curvature) == 0
    _, off = nearest_point(base, fitted.z, fitted.r)
    assert np.nanstd(off) < MICROMETER / 2 / np.sqrt(2), (
        "smoothing must leave less than the noise of a radius"
    )
    wrong = np.interp(fitted.s, base.s, base.curvature) - fitted.curvature
    assert np.std(wrong[fitted.s < 200]) < 2e-5
    assert np.std(wrong) < 0.02 * base.curvature.max()


def test_uneven_spacing_does_as_well() -> None:
    base = flare(1.4)
    gaps = np.random.default_rng(7).uniform(0.8, 7.0, 110)
    s = np.append(0.0, np.cumsum(gaps))
    fitted = measured(base, s[s < base.length], 0 * s[s < base.length], error=MICROMETER, seed=8)
    assert inflections(fitted.curvature) == 0
    assert np.nanmax(abs(nearest_point(base, fitted.z, fitted.r)[1])) < 2 * MICROMETER


def test_no_stated_error_means_interpolation() -> None:
    base = flare(1.45)
    s = np.linspace(0.0, base.length, 100)
    points = base.at(s)
    wavy = 2 * points.r + np.random.default_rng(3).normal(0.0, 0.002, s.size)
    fitted = meridian_from_stations(points.z, wavy, diameter_error=0.0)
    _, off = nearest_point(fitted, points.z[1:-1], wavy[1:-1] / 2)
    assert np.max(abs(off)) < 1e-5


def test_a_dense_tracing_is_fitted_in_reasonable_time() -> None:
    base = flare(1.3)
    s = np.linspace(0.0, base.length, 3000)
    points = base.at(s)
    noise = np.random.default_rng(4).normal(0.0, 0.01, s.size)
    keep = np.append(True, np.diff(points.z) > 0)
    fitted = meridian_from_stations(points.z[keep], (2 * points.r + noise)[keep], diameter_error=0.01)
    assert np.min(fitted.curvature) > -1e-5
    assert np.max(abs(nearest_point(base, fitted.z, fitted.r)[1])) < 0.005


def test_stations_too_few_for_the_flare_are_refused_or_fitted_but_never_wild() -> None:
    """Eight stations on a flare to 87 degrees: whatever comes back passes within the stated error of them."""
    base = flare(np.radians(87.0))
    for seed in range(6):
        s = np.sort(np.append([0.0, base.length], np.random.default_rng(seed).uniform(0, base.length, 6)))
        points = base.at(s)
        try:
            fitted = meridian_from_stations(points.z, 2 * points.r, diameter_error=0.01)
        except ValueError as refusal:
            assert "settle on no smooth curve" in str(refusal)
            continue
        assert np.nanmax(abs(nearest_point(fitted, points.z, points.r)[1])) < 1.0


def sample_profiles() -> list[tuple[str, np.ndarray, np.ndarray]]:
    """Those of the kept shop, and of the sample shops where they are at hand."""
    profiles = []
    for path in (LAID_SHOP / "mandrel_profile.csv", *sorted(sample_shops().glob("sample-shop*/mandrel_profile.csv"))):
        table = pd.read_csv(path)
        scale = 25.4 if "z_in" in table else 1.0
        for key, rows in table.groupby(["mandrel_id", "revision"]):
            z, diameter = rows.iloc[:, -2].to_numpy(float), rows.iloc[:, -1].to_numpy(float)
            profiles.append((f"{path.parent.name} {key}", scale * z, scale * diameter))
    return profiles


def test_sample_profiles_bend_no_more_than_their_makers_meant() -> None:
    """Each has at most one ridge (two inflections); what is left over is the noise of a micrometer."""
    for name, z, diameter in sample_profiles():
        fitted = meridian_from_stations(z, diameter, diameter_error=MICROMETER, z_error=0.001)
        assert inflections(fitted.curvature) in (0, 2), name
        _, off = nearest_point(fitted, z, diameter / 2)
        tail = fitted.at(fitted.arc_at_z(z)).slope < 0.5
        assert 0.3 * MICROMETER < np.std(off[tail]) < 0.7 * MICROMETER, name
