"""What presses on the sheet: the steel inside, a round nose outside, and the hold behind the nose."""

from __future__ import annotations

__all__ = ["ContactForces", "Nose", "SteelCurve"]

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline

Array = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

TABLE_STEP_MM = 0.05
OVERHANG_MM = 12.0
PROJECTION_STEPS = 3
# Springs come on over this depth instead of at once, so that Newton's method meets no corner; 1 MPa at touch.
SOFT_START_MM = 2.0e-4


@dataclass(frozen=True)
class SteelCurve:
    """The mandrel's meridian as a dense table, carried on along its end tangents past both ends.

    Built from arrays s, z, r [mm], slope [rad] from tail to rim, joined by cubic Hermite curves in s.
    """

    s: Array
    z: Array
    r: Array
    slope: Array

    @cached_property
    def table(self) -> tuple[Array, Array, Array, Array, Array]:
        """s, z, r, slope and curvature at equal steps of s, the overhang past each end included."""
        count = int(np.ceil((self.s[-1] - self.s[0] + 2 * OVERHANG_MM) / TABLE_STEP_MM)) + 1
        s = self.s[0] - OVERHANG_MM + TABLE_STEP_MM * np.arange(count)
        inside = np.clip(s, self.s[0], self.s[-1])
        fz = CubicHermiteSpline(self.s, self.z, np.cos(self.slope))
        fr = CubicHermiteSpline(self.s, self.r, np.sin(self.slope))
        dz, dr = fz(inside, 1), fr(inside, 1)
        length = np.hypot(dz, dr)
        past = s - inside
        z, r = fz(inside) + past * dz / length, fr(inside) + past * dr / length
        curvature = (dz * fr(inside, 2) - dr * fz(inside, 2)) / length**3
        return s, z, r, np.arctan2(dr, dz), np.where(past == 0.0, curvature, 0.0)

    def project(self, z: Array, r: Array, guess: Array) -> tuple[Array, Array, Array, Array]:
        """Foot of the normal from points (z, r): arc s, distance [mm] (+ outside), slope and curvature there."""
        ts, tz, tr, tphi, tk = self.table
        s = guess
        for _ in range(PROJECTION_STEPS):
            i = np.clip(np.rint((s - ts[0]) / TABLE_STEP_MM).astype(np.intp), 0, len(ts) - 1)
            c, b = np.cos(tphi[i]), np.sin(tphi[i])
            along = (z - tz[i]) * c + (r - tr[i]) * b
            across = -(z - tz[i]) * b + (r - tr[i]) * c
            s = ts[i] + along / (1.0 - tk[i] * across)
        step = s - ts[i]
        bow = 0.5 * tk[i] * step**2
        phi = tphi[i] + tk[i] * step
        dz, dr = z - tz[i] - c * step + b * bow, r - tr[i] - b * step - c * bow
        return s, -dz * np.sin(phi) + dr * np.cos(phi), phi, tk[i]

    def point(self, s: float, distance: float) -> tuple[float, float]:
        """(z, r) of the point at arc s and normal distance from the steel."""
        ts, tz, tr, tphi, _ = self.table
        phi = float(np.interp(s, ts, tphi))
        z, r = float(np.interp(s, ts, tz)), float(np.interp(s, ts, tr))
        return z - distance * np.sin(phi), r + distance * np.cos(phi)


@dataclass(frozen=True)
class Nose:
    """A round tool of `radius` [mm] that touches the laid sheet at arc `at` [mm], `lift` [mm] clear of it."""

    radius: float
    at: float
    lift: float = 0.0


@dataclass(frozen=True)
class ContactForces:
    """Penalty contact of the middle surface: `gradient` (n, 2) and `hessian` (n, 2, 2) of the energy per area by
    (z, r), and the arcs of the feet (n,) to start the next projection from.

    Springs of `stiffness` [N/mm^3]. Behind the nose the sheet is held both ways at half its wall from the steel;
    ahead of it the steel only pushes, and the nose only pushes.
    """

    gradient: Array
    hessian: Array
    foot: Array

    @classmethod
    def of(
        cls,
        z: Array,
        r: Array,
        foot: Array,
        *,
        steel: SteelCurve,
        nose: Nose | None,
        half_wall: Array,
        held: BoolArray,
        stiffness: float,
    ) -> ContactForces:
        """Forces at middle-surface points (n,), `held` ones both ways; `half_wall` [mm]; `nose` None: no tool."""
        s, distance, phi, curvature = steel.project(z, r, foot)
        excess = distance - half_wall
        pressed, rate = _one_sided(-excess)
        push = stiffness * np.where(held, excess, -pressed)
        rate = np.where(held, 1.0, rate)
        n = np.stack([-np.sin(phi), np.cos(phi)], axis=1)
        t = np.stack([np.cos(phi), np.sin(phi)], axis=1)
        bend = push * -curvature / (1.0 - curvature * distance)
        gradient = push[:, None] * n
        hessian = (stiffness * rate)[:, None, None] * n[:, :, None] * n[:, None, :]
        hessian += bend[:, None, None] * t[:, :, None] * t[:, None, :]
        if nose is not None:
            wall = 2.0 * float(np.interp(nose.at, s, half_wall))
            centre = steel.point(nose.at, wall + nose.radius + nose.lift)
            away = np.stack([z - centre[0], r - centre[1]], axis=1)
            far = np.hypot(away[:, 0], away[:, 1])
            pressed, rate = _one_sided(np.where(held, -1.0, nose.radius + half_wall - far))
            u = away / far[:, None]
            w = np.stack([-u[:, 1], u[:, 0]], axis=1)
            load = -stiffness * pressed
            gradient += load[:, None] * u
            hessian += (stiffness * rate)[:, None, None] * u[:, :, None] * u[:, None, :]
            hessian += (load / far)[:, None, None] * w[:, :, None] * w[:, None, :]
        return cls(gradient, hessian, s)


def _one_sided(depth: Array) -> tuple[Array, Array]:
    """Depth that counts [mm] and its rate [-]: 0 while clear, a parabola at touch, the depth itself when pressed."""
    width = SOFT_START_MM
    soft = np.clip(depth + width, 0.0, 2.0 * width)
    return np.where(depth > width, depth, soft**2 / (4.0 * width)), soft / (2.0 * width)
