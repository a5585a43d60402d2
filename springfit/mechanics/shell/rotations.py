"""Strains of a meridian that has turned by any angle, with their first and second derivatives.

With the deformed meridian x(s), its tangent p = x' and bend q = x'' taken along the undeformed arc:

    e_s = |p| - 1                                     e_theta = u_r/r
    k_s = kappa - (p_z q_r - p_r q_z)/|p|^2           k_theta = (p_z/|p| - cos phi)/r

so a motion along the axis strains nothing however large. Strains stay small; only the rotation may be large.
At rest the first derivatives are the linear strains of `elements`. Formulation: stretch and change of bend of
the middle line, Antman, Nonlinear Problems of Elasticity, on axisymmetric shells.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.shell.elements import ElementSet

__all__ = ["Turned", "second_derivatives", "strain_gradients", "strains", "to_derivatives", "turned"]

Array = NDArray[np.float64]

QUARTER_TURN = np.array([[0.0, 1.0], [-1.0, 0.0]])


class Turned(NamedTuple):
    """The deformed meridian at the Gauss points (elements, points): unit tangent (..., 2), |p|, bend q (..., 2),
    d phi/ds, and the change of radius u_r [mm]."""

    unit: Array
    length: Array
    bend: Array
    turn: Array
    radial: Array


def to_derivatives(elements: ElementSet) -> Array:
    """(elements, points, 5, 8): changes of p_z, p_r, q_z, q_r and u_r from the 8 unknowns of an element."""
    rows = np.zeros((*elements.radius.shape, 5, 2, 4))
    rows[..., 0, 0, :] = rows[..., 1, 1, :] = elements.first
    rows[..., 2, 0, :] = rows[..., 3, 1, :] = elements.second
    rows[..., 4, 1, :] = elements.value
    return elements.rotated(rows)


def turned(elements: ElementSet, moved: Array) -> Turned:
    """The meridian after a motion (elements, points, 5), the changes of `to_derivatives`."""
    c, s, kappa = elements.cosine, elements.sine, elements.curvature
    p = moved[..., :2] + np.stack([c, s], axis=-1)
    q = moved[..., 2:4] + kappa[..., None] * np.stack([-s, c], axis=-1)
    length = np.sqrt(p[..., 0] ** 2 + p[..., 1] ** 2)
    turn = (p[..., 0] * q[..., 1] - p[..., 1] * q[..., 0]) / length**2
    return Turned(p / length[..., None], length, q, turn, moved[..., 4])


def strains(elements: ElementSet, now: Turned) -> Array:
    """e_s, e_theta, k_s, k_theta, (elements, points, 4)."""
    r = elements.radius
    return np.stack(
        [
            now.length - 1,
            now.radial / r,
            elements.curvature - now.turn,
            (now.unit[..., 0] - elements.cosine) / r,
        ],
        axis=-1,
    )


def strain_gradients(elements: ElementSet, now: Turned) -> Array:
    """First derivatives of the strains in (p, q, u_r), (elements, points, 4, 5)."""
    r, length, turn = elements.radius, now.length, now.turn[..., None]
    q_turned, p_turned = _quarter(now)
    gradient = np.zeros((*length.shape, 4, 5))
    gradient[..., 0, :2] = now.unit
    gradient[..., 1, 4] = 1 / r
    gradient[..., 2, :2] = 2 * turn * now.unit / length[..., None] - q_turned
    gradient[..., 2, 2:4] = -p_turned
    gradient[..., 3, :2] = -now.unit * (now.unit[..., 0] / (length * r))[..., None]
    gradient[..., 3, 0] += 1 / (length * r)
    return gradient


def second_derivatives(elements: ElementSet, now: Turned, stress: Array) -> Array:
    """Sum over the four strains of stress (elements, points, 4) times second derivative, (elements, points, 5, 5).

    e_theta is linear and k_s is linear in q, so their share and the block of q with q are nothing.
    """
    unit, per_square = now.unit, (1 / now.length**2)[..., None, None]
    identity, outer = np.eye(2), unit[..., :, None] * unit[..., None, :]
    q_turned, p_turned = _quarter(now)
    force, moment, hoop_moment = (stress[..., i, None, None] for i in (0, 2, 3))

    crossed = q_turned[..., :, None] * (unit / now.length[..., None])[..., None, :]
    of_turn = (8 * outer - 2 * identity) * now.turn[..., None, None] * per_square - 2 * _both(crossed)
    mixed = QUARTER_TURN * per_square - 2 * (unit / now.length[..., None])[..., :, None] * p_turned[..., None, :]
    leaning = np.zeros_like(outer)
    leaning[..., 0, :] = unit
    of_cosine = unit[..., 0, None, None] * (3 * outer - identity) - _both(leaning)

    total = np.zeros((*now.length.shape, 5, 5))
    total[..., :2, :2] = (
        force * (identity - outer) / now.length[..., None, None]
        - moment * of_turn
        + hoop_moment * of_cosine * per_square / elements.radius[..., None, None]
    )
    total[..., :2, 2:4] = -moment * mixed
    total[..., 2:4, :2] = total[..., :2, 2:4].swapaxes(-1, -2)
    return total


def _quarter(now: Turned) -> tuple[Array, Array]:
    """q and p turned by a right angle, over |p|^2: the derivatives of p x q / |p|^2 but for |p|."""
    square = (now.length**2)[..., None]
    p = now.unit * now.length[..., None]
    q_turned = np.stack([now.bend[..., 1], -now.bend[..., 0]], axis=-1) / square
    return q_turned, np.stack([-p[..., 1], p[..., 0]], axis=-1) / square


def _both(matrix: Array) -> Array:
    total: Array = matrix + matrix.swapaxes(-1, -2)
    return total
