"""Hands and gauges: the numbers a person in the invented shop writes down of a bell.

The stylus writes the station of its ball's centre and, as diameter, twice (the centre's radius less the
ball's radius): it is set to read true on a plug gauge, so only where the wall slopes does the ball touch
beside its foot. The rim face is the inside edge of the cut. A ring rests where the outside reaches the
ring's bore. A feeler stops at the thickest leaf that passes. Every gauge has a fixed bias of its own, known
to nobody in the shop.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from springfit.demo.spinning.spun import SpunBell

__all__ = ["LEAVES_MM", "Gauge", "Hands", "Setting"]

# A set of feeler leaves as it is sold, in thou; no source
LEAVES_MM = 0.0254 * np.array([1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 20, 25, 30, 35, 40])


@dataclass(frozen=True)
class Gauge:
    """A gauge: 1 sd of a value, 1 sd of placing a station, ball radius, and its hidden fixed `bias` [mm]."""

    gauge_id: str
    what: str
    repeatability_mm: float
    station_mm: float
    ball_radius_mm: float = 0.0
    bias_mm: float = 0.0


@dataclass(frozen=True)
class Setting:
    """How a bell was set up for a session: its `datum`, and where a point of the bell shows in the reading.

    The bell's own z has its tail matched to the steel's; reading z = origin + direction x bell z. `seat_mm`
    is how far a bell pushed back on the steel sits from there, toward the rim (tail datum and clearances).
    """

    datum: str
    origin_mm: float
    direction: float = 1.0
    seat_mm: float = 0.0

    def bell_z(self, z: Any) -> Any:
        """Where on the matched-tail bell a reading station lies."""
        return (z - self.origin_mm) / self.direction

    def reading_z(self, z: Any) -> Any:
        """Where a station of the matched-tail bell shows in the reading."""
        return self.origin_mm + self.direction * z


@dataclass
class Hands:
    """Takes readings; `rng` carries the noise, so the same hands in the same order write the same numbers."""

    rng: np.random.Generator
    placing_mm: float = 0.06  # setting a height gauge to a scribed line or a rim

    def witness(self, bell: SpunBell, witness_z: float) -> Setting:
        """z set from the line scribed at steel station `witness_z` before release."""
        moved = float(np.interp(witness_z, bell.steel_z, bell.axial))
        return Setting("witness", -moved + self.placing_mm * self.rng.normal())

    def pushed_on(self, bell: SpunBell, usual: float, spread: float, shift: float = 0.0) -> Setting:
        """The bell pushed back on its steel: until it touches (0.02 mm of squeeze), or short of it."""
        lean = np.sin(bell.slope)
        most = float(np.min((np.maximum(bell.gap, 0.0) + 0.02) / np.maximum(lean, 0.02)))
        seat = min(usual + spread * self.rng.normal(), most) + shift
        return Setting("tail", seat, seat_mm=seat)

    def from_rim(self, bell: SpunBell) -> Setting:
        """z counted back from the rim's face toward the tail."""
        face = float(bell.z[-1]) + bell.trim_mm * float(np.cos(bell.slope[-1]))
        return Setting("rim", face + self.placing_mm * self.rng.normal(), direction=-1.0)

    def free(self, origin_mm: float | None = None) -> Setting:
        """A scan with no axial reference, its zero anywhere or at `origin_mm`."""
        anywhere = float(np.round(self.rng.uniform(-60.0, 60.0), 2))
        return Setting("free", anywhere if origin_mm is None else origin_mm)

    def outside(
        self, bell: SpunBell, setting: Setting, z: np.ndarray, gauge: Gauge, angles: tuple[float, ...]
    ) -> list[dict]:
        """Outside diameters at reading stations `z` and angles from the seam [deg], micrometer or stylus."""
        z_out, r_out = _outside(bell, gauge.ball_radius_mm)
        rows = []
        for station in z:  # set once, then the bell is turned: the angles share its error
            at = setting.bell_z(station + gauge.station_mm * self.rng.normal())
            if not z_out[0] <= at <= z_out[-1]:
                continue
            for angle in angles:
                lobe = np.interp(at, z_out, bell.oval) * np.cos(2.0 * (np.radians(angle) - bell.oval_at))
                value = 2.0 * (np.interp(at, z_out, r_out) + lobe) + self._noise(gauge)
                rows.append(_row("outside_diameter", setting, station, value, gauge, angle))
        return rows

    def inside(self, bell: SpunBell, setting: Setting, z: np.ndarray, gauge: Gauge) -> list[dict]:
        """Inside diameters at reading stations, by a telescoping gauge."""
        rows = []
        for station in z:
            at = setting.bell_z(station + gauge.station_mm * self.rng.normal())
            if bell.z[0] <= at <= bell.z[-1]:
                value = 2.0 * np.interp(at, bell.z, bell.r) + self._noise(gauge)
                rows.append(_row("inside_diameter", setting, station, value, gauge, 0.0))
        return rows

    def rings(self, bell: SpunBell, setting: Setting, bores: np.ndarray, gauge: Gauge) -> list[dict]:
        """Where rings of given bores come to rest on the outside: z is what is read, the value the bore."""
        z_out, r_out = _outside(bell, 0.0)
        rows = []
        for bore in bores:
            if r_out[0] < bore / 2.0 < r_out[-1]:
                rest = np.interp((bore + self._noise(gauge)) / 2.0, r_out, z_out)
                z = setting.reading_z(float(rest) + gauge.station_mm * self.rng.normal())
                rows.append(_row("axial_at_diameter", setting, z, bore, gauge, None))
        return rows

    def feelers(self, bell: SpunBell, setting: Setting, z: np.ndarray, gauge: Gauge) -> list[dict]:
        """Clearance at steel stations `z`, bell seated: the thickest leaf that passes; 0 when none does."""
        clear = bell.gap - setting.seat_mm * np.sin(bell.slope)
        rows = []
        for station in z:
            true = np.interp(station + gauge.station_mm * self.rng.normal(), bell.steel_z, clear)
            passing = LEAVES_MM[true + self._noise(gauge) >= LEAVES_MM]
            leaf = float(passing[-1]) if len(passing) else 0.0
            rows.append(_row("clearance", setting, station, leaf, gauge, None))
        return rows

    def walls(self, bell: SpunBell, setting: Setting, z: np.ndarray, gauge: Gauge) -> list[dict]:
        """Wall thickness along the normal at reading stations, by a ball micrometer."""
        rows = []
        for station in z:
            at = setting.bell_z(station + gauge.station_mm * self.rng.normal())
            value = float(np.interp(at, bell.z, bell.wall)) + self._noise(gauge)
            rows.append(_row("wall", setting, station, value, gauge, None))
        return rows

    def _noise(self, gauge: Gauge) -> float:
        return gauge.bias_mm + gauge.repeatability_mm * float(self.rng.normal())


def _outside(bell: SpunBell, ball: float) -> tuple[np.ndarray, np.ndarray]:
    """Outside surface as a gauge sees it: z and radius (n,) [mm], the radius less the ball's for a stylus."""
    slope = np.arctan2(np.gradient(bell.r), np.gradient(bell.z))
    out = bell.wall + ball
    return bell.z - out * np.sin(slope), bell.r + out * np.cos(slope) - ball


def _row(kind: str, setting: Setting, z: float, value: float, gauge: Gauge, angle: float | None) -> dict:
    return {
        "kind": kind,
        "datum": setting.datum,
        "z_mm": float(z),
        "angle_deg": angle,
        "value_mm": float(value),
        "gauge_id": gauge.gauge_id,
    }
