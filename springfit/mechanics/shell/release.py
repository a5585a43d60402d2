"""Linear release of what is locked in an axisymmetric thin shell: factor once, release many fields.

Before release the bell lies on the mandrel carrying resultants n* = (N_s, N_theta, M_s, M_theta). Let go, it
takes the displacement u that makes the elastic energy least with those as added stresses:

    integral of e(v).(C e(u) + n*) 2 pi r ds = 0    for every v,  axial motion of the tail held, rim free.

The elements and the strain measures are in `elements`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from springfit.mechanics.shell.assembly import HELD, Tail, factored, solved
from springfit.mechanics.shell.elements import UNKNOWNS, ElementSet, elasticity, element_set, local_matrices
from springfit.mechanics.shell.fields import Release, release_of, stacked
from springfit.mechanics.shell.load import NodalLoad
from springfit.mechanics.shell.mesh import Stations, checked_stations, gauss_points, mesh_between

__all__ = ["Release", "ShellOfRevolution", "Tail"]

Array = NDArray[np.float64]

# Longest element in local decay lengths: displacements of a 0.5 mm horn are then within 0.3 % of the largest of its
# finite-element ones, with a quarter of it within 0.01 % (`tests/reference/shell/test_bessel_horn_bell.py`)
FINENESS = 0.4
BLOCK = 8  # fields released at once: few enough to stay in the cache


class ShellOfRevolution:
    """A bell's middle surface, factored, ready to release any number of locked-in fields.

    s, z, r, slope: arc, axial and radial place [mm] and angle from the axis [rad] of the stations, tail
    first, (n,). wall: one value or one a station [mm]; youngs_modulus [MPa]; poisson_ratio in (-1, 0.5).
    tail: "axial" holds only the axial motion at s[0]; "clamped" holds radial motion and rotation too.
    Fields fall linearly between stations, so a jump is a ramp one station long. Elements are never longer
    than `fineness` times the local decay length sqrt(R_2 t)/[3(1-nu^2)]^(1/4), without moving a station.
    Trimmed or not, a stage is the shell of its own meridian: cutting drops the resultants outside the trim
    line, and since the release is linear it does not matter whether the bell was let go before.
    Raises ValueError that names the bad input. Valid for a wall under a tenth of either radius.
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
        fineness: float = FINENESS,
    ) -> None:
        if tail not in HELD:
            raise ValueError(f"tail: found {tail!r}, expected 'axial' or 'clamped'")
        self.stations: Stations = checked_stations(s, z, r, slope, wall, youngs_modulus, poisson_ratio)
        self.youngs_modulus, self.poisson_ratio, self.tail = float(youngs_modulus), float(poisson_ratio), tail
        self.mesh = mesh_between(self.stations, self.poisson_ratio, fineness)
        x, w = gauss_points()
        self.elements: ElementSet = element_set(*self.mesh.nodes, x, w)
        strain = self.elements.strain_matrix()
        stiffness = elasticity(self.mesh.within(self.mesh.wall, x), self.youngs_modulus, self.poisson_ratio)
        local, load = local_matrices(self.elements, strain, stiffness, x)
        self._factor, self._load = factored(local, tail), NodalLoad(load)

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
        fineness: float = FINENESS,
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
        fields, single = stacked(self.stations.s.size, n_s, n_theta, m_s, m_theta)
        moved = self.mesh.of_stations(self.nodes_released(fields))
        return release_of(moved, self.stations.slope, single=single)

    def solution(self, load: Array) -> Array:
        """Unknowns of the nodes (nodes, 4, k) under loads of that shape, per radian; the load is used up."""
        return solved(self._factor, load, self.tail)

    def nodes_released(self, fields: Array) -> Array:
        """Unknowns of the nodes after the release of resultants at the stations (stations, 4, fields)."""
        count = fields.shape[2]
        unknowns = np.empty((count, self.mesh.node_count, UNKNOWNS))
        for first in range(0, count, BLOCK):
            some = slice(first, first + BLOCK)
            load = self._load.of(self.mesh.to_nodes(np.ascontiguousarray(fields[..., some])))
            unknowns[some] = self.solution(load).transpose(2, 0, 1)
        return unknowns.transpose(1, 2, 0)
