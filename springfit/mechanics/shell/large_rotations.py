"""Release with large rotations: the last word near a rim that lies almost flat.

The elements, unknowns and locked-in resultants of `shell`, with the strains e of `shell_rotations`. The
energy, integral of (n*.e + e.C e/2) 2 pi r ds, is brought to its minimum by Newton steps with the exact
second derivative.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import LinAlgError

from springfit.mechanics.shell.assembly import factored, gathered, solved
from springfit.mechanics.shell.elements import UNKNOWNS, elasticity
from springfit.mechanics.shell.fields import Release, release_of, stacked
from springfit.mechanics.shell.load import neighbours
from springfit.mechanics.shell.mesh import gauss_points
from springfit.mechanics.shell.release import ShellOfRevolution
from springfit.mechanics.shell.rotations import strains, to_derivatives

__all__ = ["Problem", "release_nonlinear"]

Array = NDArray[np.float64]

SMALLEST_STEP = 1e-7  # mm or rad: Newton ends when no unknown moves by more; rounding stirs 1e-9
LONG_STEP = 1e-3  # mm or rad: a step longer than this must lower the energy
MOST_STEPS = 60


def release_nonlinear(
    shell: ShellOfRevolution,
    n_s: ArrayLike | None = None,
    n_theta: ArrayLike | None = None,
    m_s: ArrayLike | None = None,
    m_theta: ArrayLike | None = None,
) -> Release:
    """As `ShellOfRevolution.release` with large rotations; one field after another, each (n,) or (n, fields).

    `normal` and `tangential` are taken in the undeformed frame. Raises ArithmeticError when no stable shape
    is found.
    """
    fields, single = stacked(shell.stations.s.size, n_s, n_theta, m_s, m_theta)
    problem = Problem(shell)
    nodes = np.stack([problem.released(field) for field in np.moveaxis(fields, -1, 0)], axis=-1)
    return release_of(shell.mesh.of_stations(nodes), shell.stations.slope, single=single)


class Problem:
    """What does not change from field to field: the map from unknowns to (p, q, u_r) and the elasticity."""

    def __init__(self, shell: ShellOfRevolution) -> None:
        self.shell, self.elements = shell, shell.elements
        points = gauss_points()[0]
        wall = shell.mesh.within(shell.mesh.wall, points)
        self.stiffness = elasticity(wall, shell.youngs_modulus, shell.poisson_ratio)
        self.ends = np.stack([1 - points, points])
        self.map = to_derivatives(self.elements)

    def released(self, field: Array) -> Array:
        """Nodal unknowns (nodes, 4) after release of one field (stations, 4)."""
        at_nodes = self.shell.mesh.to_nodes(field)
        locked = np.einsum("ap,aek->epk", self.ends, np.stack([at_nodes[:-1], at_nodes[1:]]))
        unknowns = np.zeros((self.shell.mesh.node_count, UNKNOWNS))
        for _ in range(MOST_STEPS):
            step, stable = self.step(unknowns, locked)
            largest = np.abs(step).max()
            if largest > LONG_STEP:
                step = step * self._downhill(unknowns, step, locked)
            unknowns = unknowns + step
            if stable and largest < SMALLEST_STEP:
                return unknowns
        raise ArithmeticError(
            f"release: found no stable shape in {MOST_STEPS} steps, expected stresses below snapping"
        )

    def step(self, unknowns: Array, locked: Array) -> tuple[Array, bool]:
        """A Newton step, and whether the tangent was stable there.

        Where it is not (the seated shell may be past buckling, held by the mandrel), the part of the tangent
        that the stresses add is left out: what remains is positive, so the step still goes downhill.
        """
        moved = self._moved(unknowns)
        strain, slope, bend = strains(self.elements, moved)
        stress = locked + np.einsum("epij,epj->epi", self.stiffness, strain)
        first = slope @ self.map  # (elements, points, 4, 8)
        weight = self.elements.weight
        load = -gathered(np.einsum("ep,epi,epij->ej", weight, stress, first)[..., None])
        material = first.swapaxes(-1, -2) @ (self.stiffness @ first)
        added = self.map.swapaxes(-1, -2) @ (np.einsum("epi,epijk->epjk", stress, bend) @ self.map)
        for stable, tangent in ((True, material + added), (False, material)):
            try:
                factor = factored((weight[..., None, None] * tangent).sum(axis=1), self.shell.tail)
            except LinAlgError:
                continue
            return solved(factor, load, self.shell.tail)[..., 0], stable
        raise ArithmeticError(
            "release: the shell's own stiffness is singular, expected a thicker wall or less stress"
        )

    def _downhill(self, unknowns: Array, step: Array, locked: Array) -> float:
        """Largest of 1, 1/2, 1/4 ... at which the energy falls."""
        now, share = self._energy(unknowns, locked), 1.0
        while share > 1e-4 and self._energy(unknowns + share * step, locked) > now:
            share /= 2
        return share

    def _energy(self, unknowns: Array, locked: Array) -> float:
        strain = strains(self.elements, self._moved(unknowns))[0]
        stress = locked + 0.5 * np.einsum("epij,epj->epi", self.stiffness, strain)
        return float((self.elements.weight * (stress * strain).sum(-1)).sum())

    def _moved(self, unknowns: Array) -> Array:
        return np.einsum("epij,ej->epi", self.map, neighbours(unknowns[..., None], 2)[..., 0])
