"""Release with large rotations: the last word near a rim that lies almost flat.

The elements, unknowns and locked-in resultants of `shell`, but the strains are those of the deformed meridian
x(s), with its tangent p = x' and its bend q = x'' taken along the undeformed arc:

    e_s = |p| - 1     e_theta = u_r/r     k_s = kappa - (p_z q_r - p_r q_z)/|p|^2     k_theta = (p_z/|p| - cos
    phi)/r

so a motion along the axis strains nothing however large. Strains stay small; only the rotation may be large.
The energy, integral of (n*.e + e.C e/2) 2 pi r ds, is brought to its minimum by Newton steps with the exact
second derivative. Formulation: stretches and change of bend of the middle line, Antman, Nonlinear Problems of
Elasticity.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import LinAlgError, cho_solve_banded

from springfit.mechanics.shell import Release, ShellOfRevolution
from springfit.mechanics.shell_assembly import HELD, factored, gathered, gauss_points
from springfit.mechanics.shell_elements import UNKNOWNS, ElementSet, elasticity

__all__ = ["release_nonlinear"]

Array = NDArray[np.float64]

SMALLEST_STEP = 1e-9  # mm or rad: Newton ends when no unknown moves by more
MOST_ITERATIONS = 25
MOST_PARTS = 64


def release_nonlinear(
    shell: ShellOfRevolution,
    n_s: ArrayLike | None = None,
    n_theta: ArrayLike | None = None,
    m_s: ArrayLike | None = None,
    m_theta: ArrayLike | None = None,
) -> Release:
    """As `ShellOfRevolution.release` with large rotations; one field after another, each (n,) or (n, fields).

    The resultants are let go in 1 part, then 2, 4 ... 64 if Newton fails. Raises ArithmeticError when it
    still does: the bell would snap through. `normal` and `tangential` are taken in the undeformed frame.
    """
    fields, single = shell.stacked(n_s, n_theta, m_s, m_theta)
    problem = _Problem(shell)
    solutions = [problem.released(fields[:, :, column]) for column in range(fields.shape[2])]
    return shell.at_stations(np.stack(solutions, axis=-1), single)


class _Problem:
    """What does not change from field to field: the map from unknowns to (p, q, u_r) and the elasticity."""

    def __init__(self, shell: ShellOfRevolution) -> None:
        self.shell, self.elements = shell, shell.elements
        points = gauss_points()[0]
        self.wall = shell.mesh.within(shell.mesh.wall, points)
        self.stiffness = elasticity(self.wall, shell.youngs_modulus, shell.poisson_ratio)
        self.ends = np.stack([1 - points, points])
        self.map = _to_derivatives(self.elements)

    def released(self, field: Array) -> Array:
        """Nodal unknowns (nodes, 4) after release of one field (4, stations)."""
        at_nodes = self.shell.mesh.to_nodes(field.T)
        locked = np.einsum("ap,aek->epk", self.ends, np.stack([at_nodes[:-1], at_nodes[1:]]))
        parts = 1
        while parts <= MOST_PARTS:
            try:
                return self._in_parts(locked, parts)
            except LinAlgError:
                parts *= 2
        raise ArithmeticError(
            f"release: found no stable shape in {MOST_PARTS} parts, expected stresses below snapping"
        )

    def _in_parts(self, locked: Array, parts: int) -> Array:
        unknowns = np.zeros((self.shell.mesh.node_count, UNKNOWNS))
        for part in range(1, parts + 1):
            for _ in range(MOST_ITERATIONS):
                step = self._newton_step(unknowns, locked * part / parts)
                unknowns = unknowns + step
                if np.abs(step).max() < SMALLEST_STEP:
                    break
            else:
                raise LinAlgError("Newton did not settle")
        return unknowns

    def _newton_step(self, unknowns: Array, locked: Array) -> Array:
        local = np.concatenate([unknowns[:-1], unknowns[1:]], axis=1)  # (elements, 8)
        moved = np.einsum("epij,ej->epi", self.map, local)
        strain, slope, bend = _strains(self.elements, moved)
        stress = locked + np.einsum("epij,epj->epi", self.stiffness, strain)
        first = slope @ self.map  # (elements, points, 4, 8)
        weight = self.elements.weight[..., None, None]
        inner = np.einsum("epi,epijk->epjk", stress, bend)
        second = self.map.swapaxes(-1, -2) @ (inner @ self.map)
        tangent = (weight * (first.swapaxes(-1, -2) @ (self.stiffness @ first) + second)).sum(axis=1)
        force = np.einsum("ep,epi,epij->ej", self.elements.weight, stress, first)
        load = -gathered(force[..., None])
        load[list(HELD[self.shell.tail])] = 0.0
        step: Array = cho_solve_banded((factored(tangent, self.shell.tail), True), load, check_finite=False)
        return step.reshape(unknowns.shape)


def _to_derivatives(elements: ElementSet) -> Array:
    """(elements, points, 5, 8): changes of p_z, p_r, q_z, q_r and u_r from the 8 unknowns of an element."""
    rows = np.zeros((*elements.radius.shape, 5, 2, 4))
    rows[..., 0, 0, :] = rows[..., 1, 1, :] = elements.first
    rows[..., 2, 0, :] = rows[..., 3, 1, :] = elements.second
    rows[..., 4, 1, :] = elements.value
    return elements.rotated(rows)


def _strains(elements: ElementSet, moved: Array) -> tuple[Array, Array, Array]:
    """Strains (..., 4), their gradient (..., 4, 5) and second derivative (..., 4, 5, 5) in (p, q, u_r)."""
    r, kappa = elements.radius, elements.curvature
    p = moved[..., :2] + np.stack([elements.cosine, elements.sine], axis=-1)
    q = moved[..., 2:4] + kappa[..., None] * np.stack([-elements.sine, elements.cosine], axis=-1)
    square = (p * p).sum(-1)
    length = np.sqrt(square)
    unit = p / length[..., None]
    turn = (p[..., 0] * q[..., 1] - p[..., 1] * q[..., 0]) / square  # d phi / ds
    strain = np.stack(
        [length - 1, moved[..., 4] / r, kappa - turn, (unit[..., 0] - elements.cosine) / r], axis=-1
    )
    q_turned = np.stack([q[..., 1], -q[..., 0]], axis=-1) / square[..., None]
    p_turned = np.stack([-p[..., 1], p[..., 0]], axis=-1) / square[..., None]
    axial = np.zeros_like(p)
    axial[..., 0] = 1 / length

    gradient = np.zeros((*strain.shape, 5))
    gradient[..., 0, :2] = unit
    gradient[..., 1, 4] = 1 / r
    gradient[..., 2, :2] = 2 * turn[..., None] * unit / length[..., None] - q_turned
    gradient[..., 2, 2:4] = -p_turned
    gradient[..., 3, :2] = (axial - unit * (unit[..., 0] / length)[..., None]) / r[..., None]

    identity, outer = np.eye(2), _outer(unit, unit)
    per_square = (1 / square)[..., None, None]
    second = np.zeros((*strain.shape, 5, 5))
    second[..., 0, :2, :2] = (identity - outer) / length[..., None, None]
    crossed = _outer(q_turned, unit) / length[..., None, None]
    of_turn = (8 * outer - 2 * identity) * turn[..., None, None] * per_square - 2 * (
        crossed + crossed.swapaxes(-1, -2)
    )
    mixed = (
        np.array([[0.0, 1.0], [-1.0, 0.0]]) * per_square
        - 2 * _outer(unit, p_turned) / length[..., None, None]
    )
    second[..., 2, :2, :2] = -of_turn
    second[..., 2, :2, 2:4], second[..., 2, 2:4, :2] = -mixed, -mixed.swapaxes(-1, -2)
    leaning = _outer(axial * length[..., None], unit)
    of_cosine = unit[..., 0, None, None] * (3 * outer - identity) - leaning - leaning.swapaxes(-1, -2)
    second[..., 3, :2, :2] = of_cosine * per_square / r[..., None, None]
    return strain, gradient, second


def _outer(a: Array, b: Array) -> Array:
    return a[..., :, None] * b[..., None, :]
