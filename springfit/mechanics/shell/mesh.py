"""Stations checked, and a mesh between them graded by the local decay length."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from springfit.mechanics.shell.decay import decay_length

__all__ = ["Mesh", "Stations", "checked_stations", "gauss_points", "mesh_between"]

Array = NDArray[np.float64]

# A chord differs from the mean of its end slopes by kappa' h^2/12; beyond this it is another curve.
LARGEST_SLOPE_ERROR = 0.2  # rad; 11 degrees; assumed


@dataclass(frozen=True)
class Stations:
    """Arc `s`, place `z`, `r`, `wall` [mm] and `slope` from the axis [rad] of the stations, each (n,)."""

    s: Array
    z: Array
    r: Array
    slope: Array
    wall: Array


@dataclass(frozen=True)
class Mesh:
    """Nodes (s, z, r, slope), which of them are stations, and how to carry station values on to all nodes."""

    nodes: tuple[Array, Array, Array, Array]
    wall: Array
    station_node: NDArray[np.intp]
    interval: NDArray[np.intp]  # station interval of each node
    fraction: Array  # place of the node within it

    @property
    def node_count(self) -> int:
        """Number of nodes."""
        return self.fraction.size

    def to_nodes(self, values: Array) -> Array:
        """Station values (stations, ...) carried linearly to the nodes (nodes, ...)."""
        if self.station_node.size == self.node_count:
            return values
        f = self.fraction.reshape(-1, *([1] * (values.ndim - 1)))
        carried: Array = values[self.interval] * (1 - f) + values[self.interval + 1] * f
        return carried

    def of_stations(self, values: Array) -> Array:
        """The rows of nodal values (nodes, ...) that are stations."""
        return values if self.station_node.size == self.node_count else values[self.station_node]

    def within(self, at_nodes: Array, points: Array) -> Array:
        """Nodal values at the given places in [0, 1] of every element, (elements, points)."""
        return at_nodes[:-1, None] * (1 - points) + at_nodes[1:, None] * points


def checked_stations(
    s: ArrayLike,
    z: ArrayLike,
    r: ArrayLike,
    slope: ArrayLike,
    wall: ArrayLike,
    youngs_modulus: float,
    poisson_ratio: float,
) -> Stations:
    """The stations as floats; ValueError naming the first thing wrong with them or with the constants."""
    arc = np.asarray(s, dtype=float)
    if arc.ndim != 1 or arc.size < 3:
        raise ValueError(f"s: found {arc.size} stations, expected at least 3 in one dimension")
    arrays = {"s": arc}
    for name, given in (("z", z), ("r", r), ("slope", slope), ("wall", wall)):
        values = np.asarray(given, dtype=float)
        if name == "wall" and values.ndim == 0:
            values = np.full(arc.shape, float(values))
        if values.shape != arc.shape:
            raise ValueError(f"{name}: found shape {values.shape}, expected {arc.shape} as s")
        arrays[name] = values
    for name, values in arrays.items():
        bad = np.flatnonzero(~np.isfinite(values))
        if bad.size:
            raise ValueError(f"{name}: station {bad[0]} is {values[bad[0]]}, expected a finite number")
    _check_meridian(**{name: arrays[name] for name in ("s", "z", "r", "slope")})
    for name in ("r", "wall"):
        low = int(np.argmin(arrays[name]))
        if arrays[name][low] <= 0:
            raise ValueError(f"{name}: station {low} is {arrays[name][low]} mm, expected more than 0")
    if not (np.isfinite(youngs_modulus) and youngs_modulus > 0):
        raise ValueError(f"youngs_modulus: found {youngs_modulus} MPa, expected more than 0")
    if not -1 < poisson_ratio < 0.5:
        raise ValueError(f"poisson_ratio: found {poisson_ratio}, expected between -1 and 0.5")
    return Stations(**arrays)


def gauss_points() -> tuple[Array, Array]:
    """Three Gauss points in [0, 1] and their weights: exact to the fifth power."""
    away = np.sqrt(0.15)
    return np.array([0.5 - away, 0.5, 0.5 + away]), np.array([5, 8, 5]) / 18


def mesh_between(stations: Stations, poisson_ratio: float, fineness: float) -> Mesh:
    """Split the station intervals until no element is longer than `fineness` local decay lengths."""
    if not fineness > 0:
        raise ValueError(f"fineness: found {fineness}, expected more than 0")
    decay = decay_length(stations.r, stations.slope, wall=stations.wall, poisson_ratio=poisson_ratio)
    h = np.diff(stations.s)
    longest = fineness * np.minimum(decay[:-1], decay[1:])
    pieces = np.ceil(h / longest - 1e-9).astype(np.intp).clip(1)
    station_node = np.concatenate([[0], np.cumsum(pieces)])
    interval = np.append(np.repeat(np.arange(h.size), pieces), h.size - 1)
    fraction = (np.arange(interval.size) - station_node[interval]) / pieces[interval]
    z, r, slope = _along_hermite(stations, interval, fraction)
    s = stations.s[interval] + fraction * h[interval]
    wall = stations.wall[interval] * (1 - fraction) + stations.wall[interval + 1] * fraction
    return Mesh((s, z, r, slope), wall, station_node, interval, fraction)


def _along_hermite(stations: Stations, interval: NDArray[np.intp], x: Array) -> tuple[Array, Array, Array]:
    """Place and slope on the cubic through the stations and their tangents."""
    a, b = interval, interval + 1
    h = stations.s[b] - stations.s[a]
    first, second = (1 + 2 * x) * (1 - x) ** 2, x * (1 - x) ** 2 * h
    third, fourth = x * x * (3 - 2 * x), x * x * (x - 1) * h
    d_first, d_second, d_fourth = 6 * x * (x - 1), (1 - x) * (1 - 3 * x) * h, x * (3 * x - 2) * h
    place, rate = [], []
    for value, tangent in ((stations.z, np.cos(stations.slope)), (stations.r, np.sin(stations.slope))):
        place.append(value[a] * first + tangent[a] * second + value[b] * third + tangent[b] * fourth)
        rate.append((value[a] - value[b]) * d_first + tangent[a] * d_second + tangent[b] * d_fourth)
    slope = np.arctan2(rate[1], rate[0])
    at_station = (x == 0) | (x == 1)
    nearest = np.where(x == 1, b, a)
    return place[0], place[1], np.where(at_station, stations.slope[nearest], slope)


def _check_meridian(s: Array, z: Array, r: Array, slope: Array) -> None:
    """ValueError unless the arc increases, is the length of (z, r), and the slope is its direction."""
    step = np.diff(s)
    if (step <= 0).any():
        i = int(np.flatnonzero(step <= 0)[0])
        raise ValueError(
            f"s: station {i + 1} at {s[i + 1]} mm follows {s[i]} mm, expected the arc to increase"
        )
    chord = np.hypot(np.diff(z), np.diff(r))
    if (chord > step * 1.001 + 1e-9).any() or (chord < 0.5 * step).any():
        i = int(np.argmax(np.abs(chord / step - 1)))
        raise ValueError(
            f"s: stations {i} and {i + 1} are {chord[i]:.6g} mm apart but {step[i]:.6g} mm apart in arc, "
            "expected s to be the arc length of (z, r)"
        )
    direction = np.arctan2(np.diff(r), np.diff(z))
    astray = np.abs(np.angle(np.exp(1j * (direction - (slope[1:] + slope[:-1]) / 2))))
    if (astray > LARGEST_SLOPE_ERROR).any():
        i = int(np.argmax(astray))
        raise ValueError(
            f"slope: between stations {i} and {i + 1} it is {astray[i]:.3g} rad off the direction of (z, r), "
            "expected the angle from the axis, tan(slope) = dr/dz"
        )
