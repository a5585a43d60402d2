"""Geometry against the Bessel-horn family r(x) = b (x + x0)^-gamma, x [mm] from the mouth inward.

The family and its use for brass bells: Benade, Fundamentals of Musical Acoustics; Fletcher & Rossing, The
Physics of Musical Instruments, chapter 14. The set gamma 0.7, b 0.0063 m, throat 10 mm, mouth 108 mm:
Smyth & Scott, Trombone synthesis by model and measurement. x0, b, the radii and the mouth's radius of
curvature of the three cases were worked out from the formula independently of this package.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from springfit.geometry.meridian import Meridian, meridian_from_stations, offset
from springfit.geometry.seating import nearest_point

TABLE_RADIUS = 1e-4  # [mm] half a digit of the tabled radii, and rounding of b
MOUTH_CURVATURE = 0.02  # of the tabled radius of curvature, at an end no station lies beyond
A_TENTH_OF_A_MICRON = 1e-4  # [mm]
TWO_MICRONS = 2e-3  # [mm]
LAST_STATION_ANGLE = 0.02  # [degrees] at an end no station lies beyond, 3 mm apart
CURVATURE_SHARE = 0.02  # of the largest curvature


@dataclass(frozen=True)
class BesselHorn:
    """A Bessel horn by its radii at throat and mouth, its length [mm] and its exponent."""

    throat: float
    mouth: float
    length: float
    gamma: float

    @property
    def x0(self) -> float:
        return self.length / ((self.mouth / self.throat) ** (1 / self.gamma) - 1)

    @property
    def b(self) -> float:
        return self.mouth * self.x0**self.gamma

    def radius(self, z: np.ndarray) -> np.ndarray:
        return self.b * (self.length - np.asarray(z) + self.x0) ** -self.gamma

    def tangent(self, z: np.ndarray) -> np.ndarray:
        return self.gamma * self.radius(z) / (self.length - np.asarray(z) + self.x0)

    def curvature(self, z: np.ndarray) -> np.ndarray:
        second = (self.gamma + 1) * self.tangent(z) / (self.length - np.asarray(z) + self.x0)
        return second / (1 + self.tangent(z) ** 2) ** 1.5

    def arc(self, z: float) -> float:
        return float(quad(lambda u: np.hypot(1.0, self.tangent(u)), 0.0, z, epsabs=1e-9, limit=400)[0])

    def stations(self, spacing: float) -> np.ndarray:
        """z of stations at even arc lengths from throat to mouth."""
        z = np.linspace(0.0, self.length, 20001)
        steps = np.hypot(np.diff(z), np.diff(self.radius(z)))
        arc = np.append(0.0, np.cumsum(steps))
        return np.interp(np.linspace(0.0, arc[-1], round(arc[-1] / spacing) + 1), arc, z)

    def meridian(
        self, *, spacing: float = 3.0, diameter_error: float = 0.0, seed: int | None = None
    ) -> Meridian:
        z = self.stations(spacing)
        noise = 0.0 if seed is None else np.random.default_rng(seed).normal(0.0, diameter_error, z.size)
        return meridian_from_stations(z, 2 * self.radius(z) + noise, diameter_error=diameter_error)


TRUMPET = BesselHorn(5.85, 61.5, 300.0, 0.6)
TROMBONE = BesselHorn(10.0, 108.0, 502.0, 0.7)
HORN = BesselHorn(9.0, 155.0, 500.0, 0.9)
HORNS = pytest.mark.parametrize("horn", [TRUMPET, TROMBONE, HORN], ids=["trumpet", "trombone", "horn"])


@pytest.mark.parametrize(
    ("horn", "x0", "b", "at", "radii", "mouth_curvature_radius"),
    [
        (TRUMPET, 6.066674, 181.403429, [10, 50, 150], [34.2839, 16.1966, 8.7631], 146.0),
        (TROMBONE, 17.343430, 795.826230, [10, 50, 150], [78.5274, 41.7842, 22.0949], 209.0),
        (HORN, 22.096227, 2513.147674, [10], [110.7668], 481.0),
    ],
)
def test_tabled_values(
    horn: BesselHorn, x0: float, b: float, at: list[float], radii: list[float], mouth_curvature_radius: float
) -> None:
    """The smoothed meridian of the horn's stations has the tabled radii and, at the mouth, the tabled curvature."""
    assert (horn.x0, horn.b) == pytest.approx((x0, b), rel=1e-6), "the stations are not those of the table"
    meridian = horn.meridian()
    s = meridian.arc_at_z(horn.length - np.array(at, float))
    np.testing.assert_allclose(meridian.at(s).r, radii, atol=TABLE_RADIUS)
    dense = horn.meridian(spacing=0.5)
    assert 1 / dense.curvature[-1] == pytest.approx(mouth_curvature_radius, rel=MOUTH_CURVATURE)


def test_published_trombone_set() -> None:
    """Throat 10 mm, mouth 108 mm, b 0.0063 m: 499.6 mm long by the formula (502 mm printed), mouth at 77.14 degrees."""
    b = 0.0063 * 1000 ** (1 + 0.7)
    x0 = (b / 108.0) ** (1 / 0.7)
    horn = BesselHorn(10.0, 108.0, (b / 10.0) ** (1 / 0.7) - x0, 0.7)
    meridian = horn.meridian()
    assert meridian.z[-1] - meridian.z[0] == pytest.approx(499.566, abs=1e-3)
    assert (meridian.r[0], meridian.r[-1]) == pytest.approx((10.0, 108.0), abs=TABLE_RADIUS)
    assert np.degrees(meridian.slope[-1]) == pytest.approx(77.140, abs=LAST_STATION_ANGLE)


@HORNS
def test_arc_slope_and_curvature(horn: BesselHorn) -> None:
    meridian = horn.meridian()
    z = horn.length * np.array([0.05, 0.3, 0.6, 0.9, 0.97, 0.99])
    s = meridian.arc_at_z(z)
    points = meridian.at(s)
    np.testing.assert_allclose(s, [horn.arc(place) for place in z], atol=TWO_MICRONS)
    np.testing.assert_allclose(points.r, horn.radius(z), atol=A_TENTH_OF_A_MICRON)
    np.testing.assert_allclose(np.tan(points.slope), horn.tangent(z), rtol=1e-3)
    largest = horn.curvature(horn.stations(1.0)).max()
    np.testing.assert_allclose(points.curvature, horn.curvature(z), atol=CURVATURE_SHARE * largest)
    assert meridian.length == pytest.approx(horn.arc(horn.length), abs=TWO_MICRONS)


@HORNS
@pytest.mark.parametrize("distance", [-0.4, 0.5])
def test_offset_moves_each_place_along_the_closed_form_normal(horn: BesselHorn, distance: float) -> None:
    meridian = horn.meridian()
    moved = offset(meridian, distance)
    z = horn.length * np.array([0.1, 0.5, 0.9, 0.98])
    i = np.searchsorted(meridian.z, z)
    at, tangent = meridian.z[i], horn.tangent(meridian.z[i])
    scale = np.hypot(1.0, tangent)
    np.testing.assert_allclose(moved.z[i], at - distance * tangent / scale, atol=TWO_MICRONS)
    np.testing.assert_allclose(moved.r[i], horn.radius(at) + distance / scale, atol=TWO_MICRONS)
    turned = np.arctan(horn.tangent(horn.length)) - np.arctan(horn.tangent(0.0))
    assert moved.length == pytest.approx(horn.arc(horn.length) - distance * turned, abs=2 * TWO_MICRONS)


@HORNS
def test_a_radius_is_reached_where_the_formula_has_it(horn: BesselHorn) -> None:
    rim = 0.8 * horn.mouth
    z = horn.length + horn.x0 - (horn.b / rim) ** (1 / horn.gamma)
    meridian = horn.meridian()
    reached = meridian.arc_reaching(rim)
    assert float(meridian.at(reached).r) == pytest.approx(rim, abs=A_TENTH_OF_A_MICRON)
    assert reached == pytest.approx(horn.arc(z), abs=TWO_MICRONS)


@HORNS
def test_nearest_point_against_a_search_on_the_formula(horn: BesselHorn) -> None:
    meridian = horn.meridian()
    for share, lift in ((0.2, 0.6), (0.7, -0.3), (0.95, 1.5), (0.985, -2.0)):
        z = share * horn.length
        r = float(horn.radius(np.array(z))) + lift
        found = minimize_scalar(
            lambda u, z=z, r=r: np.hypot(u - z, horn.radius(u) - r),
            bounds=(z - 20, min(z + 20, horn.length)),
            method="bounded",
            options={"xatol": 1e-9},
        )
        s, distance = nearest_point(meridian, z, r)
        assert abs(float(distance)) == pytest.approx(found.fun, abs=A_TENTH_OF_A_MICRON)
        assert np.sign(distance) == np.sign(lift)
        assert float(meridian.at(s).z) == pytest.approx(found.x, abs=TWO_MICRONS)


@HORNS
@pytest.mark.parametrize("spacing", [2.0, 3.5, 5.0])
def test_noisy_stations_keep_the_flare(horn: BesselHorn, spacing: float) -> None:
    """Three microns on a diameter: no inflection, two microns of place, curvature a mechanics can use."""
    meridian = horn.meridian(spacing=spacing, diameter_error=0.003, seed=11)
    assert np.all(meridian.curvature > 0), "the Bessel horn has no inflection"
    z = meridian.z[(meridian.z > 0) & (meridian.z < horn.length)]
    s = meridian.arc_at_z(z)
    off = (meridian.at(s).r - horn.radius(z)) * np.cos(meridian.at(s).slope)
    assert np.sqrt(np.mean(off**2)) < 1e-3
    largest = horn.curvature(horn.stations(1.0)).max()
    wrong = meridian.at(s).curvature - horn.curvature(z)
    assert np.sqrt(np.mean(wrong**2)) < CURVATURE_SHARE * largest
