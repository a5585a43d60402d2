"""Strains of a meridian that has turned by any angle, with their first and second derivatives.

With the deformed meridian x(s), its tangent p = x' and bend q = x'' taken along the undeformed arc:

    e_s = |p| - 1                                     e_theta = u_r/r
    k_s = kappa - (p_z q_r - p_r q_z)/|p|^2           k_theta = (p_z/|p| - cos phi)/r

so a motion along the axis strains nothing however large. Strains stay small; only the rotation may be large.
At rest the first derivatives are the linear strains of `shell_elements`. Formulation: stretch and change of
bend of the middle line, Antman, Nonlinear Problems of Elasticity, on axisymmetric shells.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.shell.elements import ElementSet

__all__ = ["strains", "to_derivatives"]

Array = NDArray[np.float64]


def to_derivatives(elements: ElementSet) -> Array:
    """(elements, points, 5, 8): changes of p_z, p_r, q_z, q_r and u_r from the 8 unknowns of an element."""
    rows = np.zeros((*elements.radius.shape, 5, 2, 4))
    rows[..., 0, 0, :] = rows[..., 1, 1, :] = elements.first
    rows[..., 2, 0, :] = rows[..., 3, 1, :] = elements.second
    rows[..., 4, 1, :] = elements.value
    return elements.rotated(rows)


def strains(elements: ElementSet, moved: Array) -> tuple[Array, Array, Array]:
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
