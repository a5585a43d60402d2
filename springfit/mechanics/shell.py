"""Linear release of what is locked in an axisymmetric thin shell: factor once, release many fields.

Before release the bell lies on the mandrel carrying resultants n* = (N_s, N_theta, M_s, M_theta). Let go, it
takes the displacement u that makes the elastic energy least with those as added stresses:

    integral of e(v).(C e(u) + n*) 2 pi r ds = 0    for every v,  axial motion of the tail held, rim free.

The elements and the strain measures are in `shell_elements`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import cho_solve_banded

from springfit.mechanics.shell_assembly import HELD, Tail, factored, gathered, gauss_points
from springfit.mechanics.shell_elements import (
    UNKNOWNS,
    ElementSet,
    elasticity,
    element_set,
    local_matrices,
)
from springfit.mechanics.shell_mesh import Stations, checked_stations, mesh_between

__all__ = ["Release", "Resultants", "ShellOfRevolution", "Tail"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Release:
    """Displacement of the middle surface at the stations; shapes (stations,) or (stations, fields).

    `normal` (out of the steel: the gap), `tangential` (toward the rim), `radial`, `axial` (toward the rim)
    [mm] and `rotation` (added to the slope) [rad]. `stretch` is du_t/ds along the meridian [-].
    """

    normal: Array
    tangential: Array
    radial: Array
    axial: Array
    rotation: Array
    stretch: Array


@dataclass(frozen=True)
class Resultants:
    """Membrane forces `n_s`, `n_theta` [N/mm] and moments `m_s`, `m_theta` [N] (positive: outer face in
    tension).
    """

    n_s: Array
    n_theta: Array
    m_s: Array
    m_theta: Array


class ShellOfRevolution:
    """A bell's middle surface, factored, ready to release any number of locked-in fields.

    s, z, r, slope: arc, axial and radial place [mm] and angle from the axis [rad] of the stations, tail
    first, (n,). wall: one value or one a station [mm]; youngs_modulus [MPa]; poisson_ratio in (-1, 0.5).
    tail: "axial" holds only the axial motion at s[0]; "clamped" holds radial motion and rotation too.
    Fields fall linearly between stations, so a jump is a ramp one station long. Elements are never longer
    than `fineness` times the local decay length sqrt(R_2 t)/[3(1-nu^2)]^(1/4), without moving a station.
    Raises ValueError that names the bad input. Valid while the wall is thin (t less than a tenth of either
    radius).
    """

    def __init__(
        self,
        s: ArrayLike,
        z: ArrayLike,
        r: ArrayLike,
        slope: ArrayLike,
        *,
        wall: ArrayLike,
        youngs_modulus: float,
        poisson_ratio: float,
        tail: Tail = "axial",
        fineness: float = 0.4,
    ) -> None:
        if tail not in HELD:
            raise ValueError(f"tail: found {tail!r}, expected 'axial' or 'clamped'")
        self.stations: Stations = checked_stations(s, z, r, slope, wall, youngs_modulus, poisson_ratio)
        self.youngs_modulus, self.poisson_ratio, self.tail = float(youngs_modulus), float(poisson_ratio), tail
        self.mesh = mesh_between(self.stations, self.poisson_ratio, fineness)
        x, w = gauss_points()
        self.elements: ElementSet = element_set(*self.mesh.nodes, x, w)
        self._strain = self.elements.strain_matrix()
        stiffness = elasticity(self.mesh.within(self.mesh.wall, x), self.youngs_modulus, self.poisson_ratio)
        local, self._load = local_matrices(self.elements, self._strain, stiffness, x)
        self._factor = factored(local, tail)

    @classmethod
    def on_inner_surface(
        cls,
        s: ArrayLike,
        z: ArrayLike,
        r: ArrayLike,
        slope: ArrayLike,
        *,
        wall: ArrayLike,
        youngs_modulus: float,
        poisson_ratio: float,
        tail: Tail = "axial",
        fineness: float = 0.4,
    ) -> ShellOfRevolution:
        """The shell whose inside lies on the given meridian (the seated bell on its mandrel).

        Its stations are half a wall out along the normal of the given ones, one to one. The normal
        displacement is the same through the wall, so `Release.normal` is the gap of the inside surface.
        """
        given = checked_stations(s, z, r, slope, wall, youngs_modulus, poisson_ratio)
        half = given.wall / 2
        turned = np.concatenate([[0.0], np.cumsum((half[1:] + half[:-1]) / 2 * np.diff(given.slope))])
        return cls(
            given.s - turned,
            given.z - half * np.sin(given.slope),
            given.r + half * np.cos(given.slope),
            given.slope,
            wall=given.wall,
            youngs_modulus=youngs_modulus,
            poisson_ratio=poisson_ratio,
            tail=tail,
            fineness=fineness,
        )

    def release(
        self,
        n_s: ArrayLike | None = None,
        n_theta: ArrayLike | None = None,
        m_s: ArrayLike | None = None,
        m_theta: ArrayLike | None = None,
    ) -> Release:
        """Displacement when the locked-in resultants are let go; each (n,) or (n, fields) [N/mm, N/mm, N, N].

        None means zero. A single column goes with every field of the others.
        """
        fields, single = self.stacked(n_s, n_theta, m_s, m_theta)
        return self.at_stations(self._solve(self._locked_load(fields)), single)

    def resultants_left(
        self,
        n_s: ArrayLike | None = None,
        n_theta: ArrayLike | None = None,
        m_s: ArrayLike | None = None,
        m_theta: ArrayLike | None = None,
    ) -> Resultants:
        """What stays in the part after release, at the stations: n* + C e(u). Arguments as in `release`."""
        fields, single = self.stacked(n_s, n_theta, m_s, m_theta)
        return _resultants(fields + self._elastic(self._solve(self._locked_load(fields))), single)

    def loaded(
        self,
        *,
        ring_radial: ArrayLike | None = None,
        ring_axial: ArrayLike | None = None,
        ring_moment: ArrayLike | None = None,
        pressure: float = 0.0,
    ) -> tuple[Release, Resultants]:
        """Displacement and resultants under dead loads, for checks against closed forms.

        Ring loads per unit of circumference at the stations, (n,): outward and toward the rim [N/mm]; a
        moment that adds to the slope [N]. `pressure` acts along the outward normal [MPa].
        """
        load = np.zeros((self.mesh.node_count, UNKNOWNS))
        rings = {0: ring_axial, 1: ring_radial, 3: ring_moment}
        for unknown, ring in rings.items():
            if ring is not None:
                value = np.asarray(ring, dtype=float)
                load[self.mesh.station_node, unknown] += value * self.stations.r
        e = self.elements
        push = np.stack([-e.sine, e.cosine], axis=-1)[..., None] * e.value[..., None, :]
        local = (e.rotated(push) * (pressure * e.weight)[..., None]).sum(axis=1)[..., None]
        solution = self._solve(load.reshape(-1, 1) + gathered(local))
        return self.at_stations(solution, True), _resultants(self._elastic(solution), True)

    def normal_influence(self, at: ArrayLike | None = None) -> tuple[Array, Array, NDArray[np.intp]]:
        """Strains under a unit normal force at each station of `at` (None = all), for bounds on the release.

        Returns strains e_s, e_theta, k_s, k_theta at the Gauss points, (points, 4, stations) [1/N] and [1/(N
        mm)], the weights r ds of the points, (points,) [mm^2], and the station numbers. By Betti the normal
        displacement released by n* is -sum over points of weight * strain . n*; forces are per radian, as the
        weights are.
        """
        numbers = np.arange(self.stations.s.size) if at is None else np.asarray(at, dtype=np.intp)
        load = np.zeros((self.mesh.node_count, UNKNOWNS, numbers.size))
        column, slope = np.arange(numbers.size), self.stations.slope[numbers]
        load[self.mesh.station_node[numbers], 0, column] = -np.sin(slope)
        load[self.mesh.station_node[numbers], 1, column] = np.cos(slope)
        solution = self._solve(load.reshape(-1, numbers.size))
        unknowns = np.concatenate([solution[:-1], solution[1:]], axis=1)
        elements, points, _ = self._strain.shape[:3]
        strain = (self._strain.reshape(elements, -1, 8) @ unknowns).reshape(elements * points, 4, -1)
        return strain, self.elements.weight.ravel(), numbers

    def at_gauss_points(self, values: Array) -> Array:
        """Station values (n,) carried linearly to the Gauss points of `normal_influence`, (points,)."""
        return self.mesh.within(self.mesh.to_nodes(values), gauss_points()[0]).ravel()

    def stacked(self, *parts: ArrayLike | None) -> tuple[Array, bool]:
        """The four fields as one array (4, stations, fields), and whether all of them were single columns."""
        count = self.stations.s.size
        arrays = [np.zeros((count, 1)) if p is None else np.asarray(p, dtype=float) for p in parts]
        single = all(p is None or a.ndim == 1 for p, a in zip(parts, arrays, strict=True))
        columns = []
        for name, a in zip(("n_s", "n_theta", "m_s", "m_theta"), arrays, strict=True):
            if a.ndim not in (1, 2) or a.shape[0] != count:
                raise ValueError(f"{name}: found shape {a.shape}, expected ({count},) or ({count}, fields)")
            if not np.isfinite(a).all():
                raise ValueError(
                    f"{name}: found a value that is not finite, expected numbers at every station"
                )
            columns.append(a[:, None] if a.ndim == 1 else a)
        width = max(a.shape[1] for a in columns)
        for name, a in zip(("n_s", "n_theta", "m_s", "m_theta"), columns, strict=True):
            if a.shape[1] not in (1, width):
                raise ValueError(f"{name}: found {a.shape[1]} fields, expected 1 or {width} as in the others")
        return np.stack([np.broadcast_to(a, (count, width)) for a in columns]), single

    def _locked_load(self, fields: Array) -> Array:
        at_nodes = self.mesh.to_nodes(fields.transpose(1, 0, 2))  # (nodes, 4, fields)
        ends = np.concatenate([at_nodes[:-1], at_nodes[1:]], axis=1)  # (elements, 8, fields)
        return gathered(self._load @ ends)

    def _solve(self, load: Array) -> Array:
        load[list(HELD[self.tail])] = 0.0
        solution: Array = cho_solve_banded((self._factor, True), load, overwrite_b=True, check_finite=False)
        return solution.reshape(self.mesh.node_count, UNKNOWNS, -1)

    def at_stations(self, solution: Array, single: bool) -> Release:
        axial, radial, stretch, rotation = solution[self.mesh.station_node].transpose(1, 0, 2)
        c, s = np.cos(self.stations.slope)[:, None], np.sin(self.stations.slope)[:, None]
        parts = (c * radial - s * axial, c * axial + s * radial, radial, axial, rotation, stretch)
        return Release(*(_read_only(part[:, 0] if single else part) for part in parts))

    def _elastic(self, solution: Array) -> Array:
        """C e(u) at the stations: the mean of the two elements that meet there, (4, stations, fields)."""
        ends = np.array([0.0, 1.0])
        strain = element_set(*self.mesh.nodes, ends, ends).strain_matrix()
        stiffness = elasticity(
            self.mesh.within(self.mesh.wall, ends), self.youngs_modulus, self.poisson_ratio
        )
        unknowns = np.concatenate([solution[:-1], solution[1:]], axis=1)
        local = (stiffness @ strain) @ unknowns[:, None]  # (elements, 2, 4, fields)
        total = np.zeros((self.mesh.node_count, *local.shape[2:]))
        total[:-1] += local[:, 0]
        total[1:] += local[:, 1]
        total[1:-1] /= 2
        return total[self.mesh.station_node].transpose(1, 0, 2)


def _resultants(stacked: Array, single: bool) -> Resultants:
    return Resultants(*(_read_only(part[:, 0] if single else part) for part in stacked))


def _read_only(values: Array) -> Array:
    values = np.ascontiguousarray(values)
    values.flags.writeable = False
    return values
