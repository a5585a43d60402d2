"""The meridian: half the axial section of a mandrel or a bell, from tail to rim."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import CubicHermiteSpline, CubicSpline

from springfit.geometry.points import FloatArray, Points, frozen_array
from springfit.geometry.smoothing import smooth_stations

__all__ = ["Meridian", "meridian_from_stations", "offset"]

END_SLACK = 0.01  # [mm] past an end that still counts as the end: less than an end is measured by
FEWEST_STATIONS = 4  # as many as a cubic has numbers


@dataclass(frozen=True)
class Meridian:
    """A smooth curve (z, r) by arc length s, with its slope and curvature.

    All five are read-only 1-D arrays of one length; s [mm] starts at 0 and increases; z, r [mm];
    slope [rad], tan(slope) = dr/dz; curvature [1/mm], d slope / d s, positive where a flare opens.
    As (z, r), the unit tangent is (cos slope, sin slope), the normal out of the steel
    (-sin slope, cos slope).
    Raises ValueError when an array is not finite or of another length, or s does not start at 0 and increase.
    """

    s: FloatArray
    z: FloatArray
    r: FloatArray
    slope: FloatArray
    curvature: FloatArray

    def __post_init__(self) -> None:
        for name in ("s", "z", "r", "slope", "curvature"):
            object.__setattr__(self, name, frozen_array(name, getattr(self, name)))
        sizes = {array.size for array in (self.s, self.z, self.r, self.slope, self.curvature)}
        if len(sizes) != 1 or self.s.size < 2:
            raise ValueError(f"a meridian of arrays sized {sorted(sizes)}, expected one size of at least 2")
        if self.s[0] != 0.0 or np.any(np.diff(self.s) <= 0):
            raise ValueError("s of a meridian must start at 0 and increase from station to station")

    @property
    def length(self) -> float:
        """Arc length from tail to rim [mm]."""
        return float(self.s[-1])

    def at(self, s: ArrayLike) -> Points:
        """Points at arc lengths `s` [mm, any shape], by cubic Hermite interpolation.

        Raises ValueError when a place lies past an end or is not a number: a curve is never extrapolated.
        """
        places = np.asarray(s, dtype=np.float64)
        outside = ~((places >= -END_SLACK) & (places <= self.length + END_SLACK))
        if np.any(outside):
            raise ValueError(
                f"arc length {places[outside].flat[0]:.6g} mm lies off the meridian, "
                f"expected 0 to {self.length:.6g} mm"
            )
        places = np.clip(places, 0.0, self.length)
        return Points(
            places,
            self._z_of_s(places),
            self._r_of_s(places),
            self._slope_of_s(places),
            np.interp(places, self.s, self.curvature),
        )

    def resampled(self, step: float) -> Meridian:
        """The same curve at even arc lengths at most `step` [mm] apart."""
        if not step > 0:
            raise ValueError(f"step is {step} mm, expected a positive length")
        points = self.at(np.linspace(0.0, self.length, max(2, int(np.ceil(self.length / step - 1e-9)) + 1)))
        return Meridian(points.s, points.z, points.r, points.slope, points.curvature)

    def arc_at_z(self, z: ArrayLike) -> FloatArray:
        """Arc lengths [mm] where the meridian lies at `z` [mm, any shape].

        Where the curve doubles back the crossing nearest the rim is given. Raises ValueError past either end.
        """
        return _last_crossing(self.s, self.z, self._z_of_s, z)

    def arc_reaching(self, r: ArrayLike) -> FloatArray:
        """Arc lengths [mm] where the meridian first reaches radius `r` [mm, any shape], between its own stations.

        Either end for a radius that lies past it: as a blank's rim is taken that is written down larger than its steel.
        """
        return np.asarray(np.interp(np.asarray(r, dtype=float), np.maximum.accumulate(self.r), self.s))

    @cached_property
    def _z_of_s(self) -> CubicHermiteSpline:
        return CubicHermiteSpline(self.s, self.z, np.cos(self.slope))

    @cached_property
    def _r_of_s(self) -> CubicHermiteSpline:
        return CubicHermiteSpline(self.s, self.r, np.sin(self.slope))

    @cached_property
    def _slope_of_s(self) -> CubicHermiteSpline:
        return CubicHermiteSpline(self.s, self.slope, self.curvature)


def meridian_from_stations(
    z: ArrayLike, diameter: ArrayLike, *, diameter_error: float, z_error: float = 0.0, step: float = 0.5
) -> Meridian:
    """Smooth meridian through measured stations.

    z, diameter: (n,) [mm], z strictly increasing; diameter_error, z_error: 1 sd [mm] of a diameter and of
    placing z, 0 = exact (the curve then passes through the stations); step: spacing of its own stations [mm].
    The smoothing follows the error along the normal, see `smoothing`.
    Raises ValueError on fewer than 4 stations, z that does not increase, a number missing or not positive,
    or a negative error.
    """
    stations, diameters = frozen_array("z", z), frozen_array("diameter", diameter)
    if stations.size != diameters.size:
        raise ValueError(f"{stations.size} values of z, {diameters.size} diameters, expected as many of each")
    if stations.size < FEWEST_STATIONS:
        raise ValueError(f"{stations.size} stations, expected at least {FEWEST_STATIONS}")
    steps_back = np.flatnonzero(np.diff(stations) <= 0)
    if steps_back.size:
        i = int(steps_back[0]) + 1
        raise ValueError(f"z[{i}] is {stations[i]} mm after {stations[i - 1]} mm, expected z to increase")
    if np.any(diameters <= 0):
        i = int(np.argmax(diameters <= 0))
        raise ValueError(f"diameter[{i}] is {diameters[i]} mm, expected a positive diameter")
    for name, value in (("diameter_error", diameter_error), ("z_error", z_error)):
        if not 0 <= value < np.inf:
            raise ValueError(f"{name} is {value} mm, expected 0 or more (one standard deviation)")
    if not 0 < step < np.inf:
        raise ValueError(f"step is {step} mm, expected a positive length")
    curve = smooth_stations(stations, diameters / 2, r_error=diameter_error / 2, z_error=z_error, step=step)
    return Meridian(curve.s, curve.z, curve.r, curve.slope, curve.curvature)


def offset(meridian: Meridian, distance: ArrayLike) -> Meridian:
    """The meridian moved by `distance` [mm] along its normal: one number, or one for each of its stations.

    (z - d sin slope, r + d cos slope); arc length grows by hypot(1 - d curvature, dd/ds).
    Raises ValueError where d reaches the radius of curvature, for there the moved curve would fold.
    """
    d = np.asarray(distance, dtype=np.float64)
    if d.size not in (1, meridian.s.size):
        raise ValueError(f"{d.size} distances for {meridian.s.size} stations, expected one or as many")
    d = frozen_array("distance", np.broadcast_to(d, meridian.s.shape))
    stretch = 1.0 - d * meridian.curvature
    if np.any(stretch <= 0):
        i = int(np.argmax(stretch <= 0))
        raise ValueError(
            f"moving by {d[i]:.4g} mm at s = {meridian.s[i]:.4g} mm folds the curve, "
            f"expected less than its radius of curvature {1 / meridian.curvature[i]:.4g} mm"
        )
    z, r = meridian.z - d * np.sin(meridian.slope), meridian.r + d * np.cos(meridian.slope)
    if np.all(d == d[0]):
        arc = meridian.s - d[0] * (meridian.slope - meridian.slope[0])
        return Meridian(arc, z, r, meridian.slope, meridian.curvature / stretch)
    rise = CubicSpline(meridian.s, d)(meridian.s, 1)
    speed = np.hypot(stretch, rise)
    arc = CubicSpline(meridian.s, speed).antiderivative()(meridian.s)
    slope = meridian.slope + np.arctan2(rise, stretch)
    turning = CubicSpline(meridian.s, slope)(meridian.s, 1)
    return Meridian(arc - arc[0], z, r, slope, turning / speed)


def _last_crossing(
    s: FloatArray, values: FloatArray, curve: CubicHermiteSpline, wanted: ArrayLike
) -> FloatArray:
    """Largest s with z(s) = wanted, each of any shape: a bracket of stations, then Newton within it."""
    target = np.asarray(wanted, dtype=np.float64)
    lowest_outward = np.minimum.accumulate(values[::-1])[::-1]
    off = ~((target >= lowest_outward[0] - END_SLACK) & (target <= values[-1] + END_SLACK))
    if np.any(off):
        raise ValueError(
            f"z {target[off].flat[0]:.6g} mm lies off the meridian, "
            f"expected {lowest_outward[0]:.6g} to {values[-1]:.6g} mm"
        )
    target = np.clip(target, lowest_outward[0], values[-1])
    i = np.clip(np.searchsorted(lowest_outward, target, side="right") - 1, 0, s.size - 2)
    low, high = s[i], s[i + 1]
    place = low + (high - low) * np.clip((target - values[i]) / (values[i + 1] - values[i]), 0.0, 1.0)
    derivative = curve.derivative()
    for _ in range(5):
        rate = derivative(place)
        safe = np.where(np.abs(rate) > 1e-9, rate, np.inf)
        place = np.clip(place + (target - curve(place)) / safe, low, high)
    return np.asarray(place, dtype=np.float64)
