"""What presses on the sheet: the steel inside, a round nose outside, and the hold behind the nose."""

from __future__ import annotations

__all__ = ["Nose", "Steel", "SteelCurve", "Tool", "contact_forces", "foot_on"]

import math
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline

from springfit.mechanics.laying.kernels.compiled import inner

Array = NDArray[np.float64]

TABLE_STEP_MM = 0.05  # of arc; over it a radius of 4 mm bends off its chord by a tenth of a micrometre
OVERHANG_MM = 12.0  # of arc past both ends, for what reaches past them; assumed
PROJECTION_STEPS = 3  # Newton's, from the last foot: each squares what is left
FITTING_STEPS, FITTING_TOLERANCE_MM = 20, 1.0e-3  # of a nose in a hollow; a fiftieth of the table's step
# Springs come on over this depth instead of at once, so that Newton's method meets no corner; 1 MPa at touch.
SOFT_START_MM = 2.0e-4


class Steel(NamedTuple):
    """The mandrel's meridian for compiled code: z, r [mm], slope, curvature at equal steps of s from `start`."""

    start: float
    z: Array
    r: Array
    slope: Array
    curvature: Array


class Tool(NamedTuple):
    """The nose for compiled code: centre and radius [mm]; `touching` False: neither nose nor steel is there.

    `stiffness` [N/mm^3] of the springs of either.
    """

    z: float
    r: float
    radius: float
    touching: bool
    stiffness: float


@dataclass(frozen=True)
class Nose:
    """A round tool of `radius` [mm] that touches the laid sheet at arc `at` [mm], `lift` [mm] clear of it."""

    radius: float
    at: float
    lift: float = 0.0


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
    def arcs(self) -> Array:
        """Arcs of the table [mm], the overhang past each end included."""
        count = int(np.ceil((self.s[-1] - self.s[0] + 2 * OVERHANG_MM) / TABLE_STEP_MM)) + 1
        return np.asarray(self.s[0] - OVERHANG_MM + TABLE_STEP_MM * np.arange(count))

    @cached_property
    def table(self) -> Steel:
        """z, r, slope and curvature at `arcs`."""
        s = self.arcs
        inside = np.clip(s, self.s[0], self.s[-1])
        fz = CubicHermiteSpline(self.s, self.z, np.cos(self.slope))
        fr = CubicHermiteSpline(self.s, self.r, np.sin(self.slope))
        dz, dr = fz(inside, 1), fr(inside, 1)
        length = np.hypot(dz, dr)
        past = s - inside
        z, r = fz(inside) + past * dz / length, fr(inside) + past * dr / length
        curvature = (dz * fr(inside, 2) - dr * fz(inside, 2)) / length**3
        return Steel(float(s[0]), z, r, np.arctan2(dr, dz), np.where(past == 0.0, curvature, 0.0))

    def project(self, z: Array, r: Array, guess: Array) -> tuple[Array, Array, Array, Array]:
        """Foot of the normal from points (z, r): arc s, distance [mm] (+ outside), slope and curvature there."""
        found = [foot_on.py_func(*point, self.table) for point in zip(z, r, guess, strict=True)]
        s, distance, slope, curvature = (np.array(column) for column in zip(*found, strict=True))
        return s, distance, slope, curvature

    def point(self, s: float, distance: float) -> tuple[float, float]:
        """(z, r) of the point at arc s and normal distance from the steel."""
        table = self.table
        z, r, phi = (float(np.interp(s, self.arcs, column)) for column in (table.z, table.r, table.slope))
        return z - distance * math.sin(phi), r + distance * math.cos(phi)

    def tool(self, nose: Nose | None, *, wall: float, stiffness: float) -> Tool:
        """The nose on a sheet of `wall` [mm], as compiled code takes it; None: the steel alone.

        In a hollow narrower than itself it stands as deep as it goes, its centre a wall and a radius off the steel.
        """
        if nose is None:
            return Tool(0.0, 0.0, 0.0, True, stiffness)
        reach = wall + nose.radius
        height = reach + nose.lift
        for _ in range(FITTING_STEPS):
            centre = self.point(nose.at, height)
            short = reach - self._nearest(centre, nose.at, reach)
            if short < FITTING_TOLERANCE_MM:
                break
            height += short
        return Tool(*centre, float(nose.radius), True, stiffness)

    def _nearest(self, centre: tuple[float, float], at: float, reach: float) -> float:
        """Distance [mm] of a point from the steel within `reach` of arc `at`."""
        first, last = np.searchsorted(self.arcs, (at - reach, at + reach))
        z, r = self.table.z[first:last], self.table.r[first:last]
        return float(np.sqrt(np.min((z - centre[0]) ** 2 + (r - centre[1]) ** 2)))


@inner
def foot_on(z, r, guess, steel):  # type: ignore[no-untyped-def]
    """Foot of the normal from one point: arc, distance [mm] (+ outside), slope, curvature."""
    s, i, last = guess, 0, steel.z.size - 1
    c = b = 0.0
    for _ in range(PROJECTION_STEPS):
        i = min(max(round((s - steel.start) / TABLE_STEP_MM), 0), last)
        c, b = math.cos(steel.slope[i]), math.sin(steel.slope[i])
        dz, dr = z - steel.z[i], r - steel.r[i]
        s = steel.start + TABLE_STEP_MM * i + (dz * c + dr * b) / (1.0 - steel.curvature[i] * (dr * c - dz * b))
    step = s - (steel.start + TABLE_STEP_MM * i)
    bow = 0.5 * steel.curvature[i] * step**2
    phi = steel.slope[i] + steel.curvature[i] * step
    dz, dr = z - steel.z[i] - c * step + b * bow, r - steel.r[i] - b * step - c * bow
    return s, dr * math.cos(phi) - dz * math.sin(phi), phi, steel.curvature[i]


@inner
def contact_forces(z, r, guess, held, half_wall, steel, tool):  # type: ignore[no-untyped-def]
    """Penalty contact of one point (z, r) of the middle surface, energy per area derived by (z, r).

    Behind the nose the sheet is `held` both ways at half its wall from the steel; ahead of it the steel only pushes,
    and the nose only pushes. Returns the gradient z, r, the second derivatives zz, zr, rr, the foot's arc and how far
    the point is from the steel [mm], 0 where it touches that or the nose.
    """
    s, distance, phi, curvature = foot_on(z, r, guess, steel)
    excess = distance - half_wall
    pressed, rate = _one_sided(-excess)
    clear = max(excess - SOFT_START_MM, 0.0)
    push = -tool.stiffness * pressed
    if held:
        push, rate, clear = tool.stiffness * excess, 1.0, 0.0
    stiff, bend = tool.stiffness * rate, -push * curvature / (1.0 - curvature * distance)
    c, b = math.cos(phi), math.sin(phi)
    gz, gr = -push * b, push * c
    zz, zr, rr = stiff * b * b + bend * c * c, (bend - stiff) * b * c, stiff * c * c + bend * b * b
    if tool.radius > 0.0 and not held:
        far = math.hypot(z - tool.z, r - tool.r)
        depth = tool.radius + half_wall - far
        pressed, rate = _one_sided(depth)
        if rate > 0.0:
            clear = 0.0
            uz, ur = (z - tool.z) / far, (r - tool.r) / far
            load, stiff = -tool.stiffness * pressed, tool.stiffness * rate
            gz, gr = gz + load * uz, gr + load * ur
            zz += stiff * uz * uz + load / far * ur * ur
            zr += (stiff - load / far) * uz * ur
            rr += stiff * ur * ur + load / far * uz * uz
    return gz, gr, zz, zr, rr, s, clear


@inner
def _one_sided(depth):  # type: ignore[no-untyped-def]
    """Depth that counts [mm] and its rate [-]: 0 while clear, a parabola at touch, the depth itself when pressed."""
    if depth >= SOFT_START_MM:
        return depth, 1.0
    soft = max(depth + SOFT_START_MM, 0.0)
    return soft**2 / (4.0 * SOFT_START_MM), soft / (2.0 * SOFT_START_MM)
