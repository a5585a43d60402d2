"""Release with large rotations: the last word near a rim that lies almost flat.

The elements, unknowns and locked-in resultants of `release`, with the strains e of `rotations`. The energy,
integral of (n*.e + e.C e/2) 2 pi r ds, is brought to its minimum by Newton steps with the exact second
derivative, from the linear release. On finite-element bells with an 80 degree rim the linear release is 4 to 9 %
of the largest gap short of this one at the rim (`tests/reference/shell/test_laid_bells.py`).

`release_large` lets one state go. `columns_about` gives what is linear about a state: with the columns taken about
half of a state, columns @ weights is its large release to the third order (midpoint rule), so that a model which is
linear in its weights can hold large rotations too.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import LinAlgError

from springfit.mechanics.shell.assembly import factored, gathered, solved
from springfit.mechanics.shell.elements import elasticity
from springfit.mechanics.shell.fields import Release, release_of, stacked
from springfit.mechanics.shell.load import neighbours
from springfit.mechanics.shell.mesh import gauss_points
from springfit.mechanics.shell.release import ShellOfRevolution
from springfit.mechanics.shell.rotations import (
    second_derivatives,
    strain_gradients,
    strains,
    to_derivatives,
    turned,
)

__all__ = ["LargeRelease", "columns_about"]

Array = NDArray[np.float64]

# mm or rad: Newton ends with a step no longer than this. A step leaves at most 20/mm times its own square of error
# (seen on a flare of 84 degrees; 0.5/mm on the finite-element bells), so the last one leaves less than 1e-6 mm.
LAST_STEP = 1e-4
# mm or rad: a step longer than this must lower the energy; shorter ones change energies by rounding alone
LONG_STEP = 1e-3
MOST_STEPS = 60  # a bound on time


def columns_about(
    shell: ShellOfRevolution,
    state: tuple[ArrayLike | None, ArrayLike | None, ArrayLike | None, ArrayLike | None],
    n_s: ArrayLike | None = None,
    n_theta: ArrayLike | None = None,
    m_s: ArrayLike | None = None,
    m_theta: ArrayLike | None = None,
) -> Release:
    """Change of the large release of `state` (n_s, n_theta, m_s, m_theta; each (n,)) per unit of each column.

    The columns as in `release`, each (n,) or (n, columns). About a state of nothing these are the linear columns.
    Raises ArithmeticError when the state has no stable shape.
    """
    field, _ = stacked(shell.stations.s.size, *state)
    columns, single = stacked(shell.stations.s.size, n_s, n_theta, m_s, m_theta)
    problem = LargeRelease(shell)
    nodes = problem.changed(field[..., 0], columns)
    return release_of(shell.mesh.of_stations(nodes), shell.stations.slope, single=single)


class LargeRelease:
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
        locked = self.locked(field)
        unknowns = self.shell.nodes_released(field[..., None])[..., 0]
        if self._energy(unknowns, locked) > 0:  # the seated shell is nearer
            unknowns = np.zeros_like(unknowns)
        for _ in range(MOST_STEPS):
            step, stable = self.step(unknowns, locked)
            largest = np.abs(step).max()
            if largest > LONG_STEP:
                step = step * self._downhill(unknowns, step, locked)
            unknowns = unknowns + step
            if stable and largest < LAST_STEP:
                return unknowns
        raise ArithmeticError(
            f"release: found no stable shape in {MOST_STEPS} steps, expected stresses below snapping"
        )

    def changed(self, field: Array, columns: Array) -> Array:
        """Change of the nodal unknowns (nodes, 4, columns) per unit of (stations, 4, columns) about one field."""
        unknowns, locked = self.released(field), self.locked(field)
        first, factor, _ = self._tangent(unknowns, locked)
        at_ends = -np.einsum("ap,ep,epij->eaij", self.ends, self.elements.weight, first)
        at_nodes = self.shell.mesh.to_nodes(columns)
        local = at_ends[:, 0].swapaxes(1, 2) @ at_nodes[:-1] + at_ends[:, 1].swapaxes(1, 2) @ at_nodes[1:]
        return solved(factor, gathered(local), self.shell.tail)

    def locked(self, field: Array) -> Array:
        """Locked-in resultants at the Gauss points (elements, points, 4) of a field (stations, 4)."""
        at_nodes = self.shell.mesh.to_nodes(field)
        carried: Array = np.einsum("ap,aek->epk", self.ends, np.stack([at_nodes[:-1], at_nodes[1:]]))
        return carried

    def step(self, unknowns: Array, locked: Array) -> tuple[Array, bool]:
        """A Newton step, and whether the tangent was stable there.

        Where it is not (the seated shell may be past buckling, held by the mandrel), the part of the tangent
        that the stresses add is left out: what remains is positive, so the step still goes downhill.
        """
        first, factor, stable = self._tangent(unknowns, locked)
        stress = self._stress(unknowns, locked)
        weighted = self.elements.weight[..., None] * stress
        local = -(first.swapaxes(-1, -2) @ weighted[..., None]).sum(axis=1)
        return solved(factor, gathered(local), self.shell.tail)[..., 0], stable

    def _tangent(self, unknowns: Array, locked: Array) -> tuple[Array, Array, bool]:
        """Strains per unknown (elements, points, 4, 8), the factor of the tangent, and whether it was stable."""
        now = turned(self.elements, self._moved(unknowns))
        first = strain_gradients(self.elements, now) @ self.map
        weight = self.elements.weight[..., None, None]
        material = _summed(first, weight * (self.stiffness @ first))
        bend = second_derivatives(self.elements, now, self._stress(unknowns, locked))
        added = _summed(self.map, weight * (bend @ self.map))
        for stable, tangent in ((True, material + added), (False, material)):
            try:
                return first, factored(tangent, self.shell.tail), stable
            except LinAlgError:
                continue
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
        strain = strains(self.elements, turned(self.elements, self._moved(unknowns)))
        stress = locked + 0.5 * (self.stiffness @ strain[..., None])[..., 0]
        return float((self.elements.weight * (stress * strain).sum(-1)).sum())

    def _stress(self, unknowns: Array, locked: Array) -> Array:
        strain = strains(self.elements, turned(self.elements, self._moved(unknowns)))
        stress: Array = locked + (self.stiffness @ strain[..., None])[..., 0]
        return stress

    def _moved(self, unknowns: Array) -> Array:
        runs = neighbours(unknowns[..., None], 2)[:, None]
        moved: Array = (self.map @ runs)[..., 0]
        return moved


def _summed(left: Array, right: Array) -> Array:
    """Sum over the points of left' right, both (elements, points, k, 8): (elements, 8, 8)."""
    count = left.shape[0]
    total: Array = left.reshape(count, -1, 8).transpose(0, 2, 1) @ right.reshape(count, -1, 8)
    return total
