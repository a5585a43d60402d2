"""What goes into the laying model and what comes out of it."""

from __future__ import annotations

__all__ = ["Laid", "LayingCase"]

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.plasticity import FlowCurve

Array = NDArray[np.float64]

TOUCHING_MM = 1.0e-3  # a preform this close to the steel lies on it; a micrometre, below any reading


@dataclass(frozen=True)
class LayingCase:
    """What is laid on what: the mandrel, the preform and the tool.

    `s`, `z`, `r` [mm] and `slope` [rad] of the mandrel's meridian from tail to (blank) rim, `stand_off` [mm] of the
    preform's inside surface along the mandrel's normal at the same stations, arrays (n,), n >= 4, s increasing from
    any start; `wall` [mm] of the sheet; `curve` its flow curve; `nose_radius` [mm]; `spin_start` [mm], arc at which
    spinning starts (what stands off before it is drawn on by a ring of radius `ring_radius`, by default the nose's).
    `drawn_pull` [-] is the stress along the meridian, as a share of the yield strength, that drawing has left in what
    lies before that arc; it is there when the bell is let go.
    Raises ValueError naming the field that cannot be.
    """

    s: Array
    z: Array
    r: Array
    slope: Array
    stand_off: Array
    wall: float
    curve: FlowCurve
    nose_radius: float
    spin_start: float
    ring_radius: float | None = None
    drawn_pull: float = 0.0

    def __post_init__(self) -> None:
        count = len(np.atleast_1d(self.s))
        for name in ("s", "z", "r", "slope", "stand_off"):
            values = np.array(getattr(self, name), dtype=float)
            if values.shape != (count,) or count < 4 or not np.all(np.isfinite(values)):
                raise ValueError(f"LayingCase.{name}: expected {max(count, 4)} finite numbers in one row")
            values.setflags(write=False)
            object.__setattr__(self, name, values)
        if np.any(np.diff(self.s) <= 0.0):
            raise ValueError("LayingCase.s: expected arcs that increase strictly from tail to rim")
        for name in ("wall", "nose_radius"):
            if not 0.0 < getattr(self, name) < np.inf:
                raise ValueError(f"LayingCase.{name}: found {getattr(self, name)!r}, expected a length above 0")
        if np.any(self.r <= 0.0) or np.any(self.stand_off < -TOUCHING_MM):
            raise ValueError("LayingCase: radii must be above 0 and stand-offs not below it")
        if not -1.0 < self.drawn_pull < 1.0:
            raise ValueError(
                f"LayingCase.drawn_pull: found {self.drawn_pull!r}, expected a share between -1 and 1"
            )
        if not self.s[0] <= self.spin_start < self.s[-1]:
            raise ValueError(
                f"LayingCase.spin_start: found {self.spin_start!r}, expected an arc in "
                f"[{self.s[0]}, {self.s[-1]})"
            )


@dataclass(frozen=True)
class Laid:
    """The sheet on the steel before release, and the gap after it, at arcs `s` [mm] of the seated inside surface.

    `n_s`, `n_theta` [N/mm], `m_s`, `m_theta` [N] (+ outer face in tension); `wall` [mm]; `equivalent_strain` [-] mean
    plastic strain; `gap` [mm] normal, + when the bell is the larger, and `axial` [mm] motion along the axis, both after
    release, tail registered; `slid` [mm] how far the metal slid along the steel while laid, + toward the rim.
    All (m,), read-only; `rim` [mm] is the arc at which the sheet ends.
    """

    s: Array
    n_s: Array
    n_theta: Array
    m_s: Array
    m_theta: Array
    wall: Array
    equivalent_strain: Array
    gap: Array
    axial: Array
    slid: Array
    rim: float

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if isinstance(value, np.ndarray):
                value.setflags(write=False)

    def at(self, s: Array) -> Laid:
        """The same at other arcs [mm], linear between, the end values held past both ends."""
        columns = {
            field.name: np.interp(s, self.s, getattr(self, field.name))
            for field in fields(self)
            if field.name not in ("s", "rim")
        }
        return Laid(s=np.array(s, dtype=float), rim=self.rim, **columns)

    def shares(self, *, wall: float, flow_stress: float) -> tuple[Array, Array, Array]:
        """k_h, k_s, k_m [-] of flow stress: N_theta = -k_h S t, N_s = k_s S t, M_s = k_m S t^2/4."""
        force = flow_stress * wall
        return -self.n_theta / force, self.n_s / force, self.m_s / (0.25 * force * wall)
