"""Hands and gauges: the numbers a person writes down of a bell, every kind of the record book but inside diameters."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .sprung_bell import SprungBell

__all__ = ["Gauge", "Hands", "Row", "Setting"]

Array = NDArray[np.float64]
Row = dict[str, object]

LEAVES_MM = 0.0254 * np.array([1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 20, 25, 30, 35, 40])
SQUEEZE_MM = 0.02  # a bell pushed on to its steel gives this much before it stops


@dataclass(frozen=True)
class Gauge:
    """A gauge with 1 sd of a value, 1 sd of placing a station, ball radius and a `bias` nobody knows of [mm]."""

    gauge_id: str
    what: str
    repeatability_mm: float
    station_mm: float
    ball_radius_mm: float = 0.0
    bias: float = 0.0


@dataclass(frozen=True)
class Setting:
    """How a bell was set up: reading z = `origin` + `direction` x z of the bell with its tail matched [mm]."""

    datum: str
    origin: float
    direction: float = 1.0
    seat: float = 0.0

    def reading(self, z: Array) -> Array:
        """Where bell stations show in the reading."""
        return self.origin + self.direction * z

    def bell(self, z: Array) -> Array:
        """Where reading stations lie on the bell."""
        return (z - self.origin) / self.direction


@dataclass(frozen=True)
class Hands:
    """`rng` carries the noise; `seat_mm` is 1 sd of where a bell pushed back by hand sits, `placing_mm` that of a
    height gauge set to a line or a rim; `step_mm` the step stations are written in."""

    rng: np.random.Generator
    seat_mm: float
    placing_mm: float
    step_mm: float

    def setting(self, bell: SprungBell, datum: str, witness_z: float) -> Setting:
        """A set-up to one of the four datums."""
        if datum == "witness":
            moved = float(np.interp(witness_z, bell.steel_z, bell.axial))
            return Setting(datum, -moved + self.placing_mm * self.rng.normal())
        if datum == "rim":
            face = float(bell.z[-1]) + bell.own.cut * float(np.cos(bell.slope[-1]))
            return Setting(datum, face + self.placing_mm * self.rng.normal(), -1.0)
        if datum == "free":
            return Setting(datum, float(np.round(self.rng.uniform(-40.0, 40.0), 2)))
        room = (np.maximum(bell.gap, 0.0) + SQUEEZE_MM) / np.maximum(np.sin(bell.slope), 0.02)
        seat = min(self.seat_mm * float(self.rng.normal()), float(np.min(room)))
        return Setting("tail", seat, seat=seat)

    def stations(self, bell: SprungBell, setting: Setting, arcs: Array) -> Array:
        """Reading stations over arcs of the steel, as a hand sets them."""
        z = setting.reading(np.interp(arcs, bell.s, bell.z - bell.wall * np.sin(bell.slope)))
        return np.unique(np.round(z / self.step_mm) * self.step_mm)

    def outside(
        self, bell: SprungBell, setting: Setting, z: Array, gauge: Gauge, angles: list[float | None]
    ) -> list[Row]:
        """Outside diameters; a stylus writes the station of its ball's centre, and its radius less the ball's."""
        out_z, out_r = _outside(bell, gauge.ball_radius_mm)
        at = setting.bell(z + gauge.station_mm * self.rng.normal(size=len(z)))
        rows = []
        for station, place in zip(z, at, strict=True):
            if not out_z[0] <= place <= out_z[-1]:
                continue
            radius, oval = np.interp(place, out_z, out_r), np.interp(place, out_z, bell.oval)
            for angle in angles:
                lobe = oval * np.cos(2.0 * (np.radians(angle or 0.0) - bell.own.oval_at))
                value = 2.0 * (radius + lobe) + self._noise(gauge)
                rows.append(_row("outside_diameter", setting, station, value, gauge, angle))
        return rows

    def rings(self, bell: SprungBell, setting: Setting, bores: Array, gauge: Gauge) -> list[Row]:
        """Where rings of given bores come to rest on the outside."""
        out_z, out_r = _outside(bell, 0.0)
        rows = []
        for bore in bores[(bores > 2.0 * out_r[0]) & (bores < 2.0 * out_r[-1] - 0.5)]:
            rest = np.interp((bore + self._noise(gauge)) / 2.0, np.maximum.accumulate(out_r), out_z)
            z = setting.reading(rest + gauge.station_mm * self.rng.normal())
            rows.append(_row("axial_at_diameter", setting, float(z), float(bore), gauge, None))
        return rows

    def feelers(self, bell: SprungBell, setting: Setting, z: Array, gauge: Gauge) -> list[Row]:
        """Clearances of the seated bell at steel stations: the thickest leaf that passes, 0 where none does."""
        clear = bell.gap - setting.seat * np.sin(bell.slope)
        rows = []
        for station in z:
            there = np.interp(station + gauge.station_mm * self.rng.normal(), bell.steel_z, clear)
            passing = LEAVES_MM[there + self._noise(gauge) >= LEAVES_MM]
            leaf = float(passing[-1]) if len(passing) else 0.0
            rows.append(_row("clearance", setting, station, leaf, gauge, None))
        return rows

    def walls(self, bell: SprungBell, setting: Setting, z: Array, gauge: Gauge) -> list[Row]:
        """Wall thickness at reading stations."""
        at = setting.bell(z + gauge.station_mm * self.rng.normal(size=len(z)))
        values = np.interp(at, bell.z, bell.wall)
        return [
            _row("wall", setting, station, value + self._noise(gauge), gauge, None)
            for station, value in zip(z, values, strict=True)
        ]

    def _noise(self, gauge: Gauge) -> float:
        return gauge.bias + gauge.repeatability_mm * float(self.rng.normal())


def _outside(bell: SprungBell, ball: float) -> tuple[Array, Array]:
    slope = np.arctan2(np.gradient(bell.r), np.gradient(bell.z))
    off = bell.wall + ball
    return bell.z - off * np.sin(slope), bell.r + off * np.cos(slope) - ball


def _row(kind: str, setting: Setting, z: float, value: float, gauge: Gauge, angle: float | None) -> Row:
    return {
        "kind": kind,
        "datum": setting.datum,
        "z_mm": z,
        "angle_deg": angle,
        "value_mm": value,
        "gauge_id": gauge.gauge_id,
    }
