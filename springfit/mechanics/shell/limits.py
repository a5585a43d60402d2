"""What physics allows: how far the release of stress below flow moves a bell, and what washes out of a facet.

Every stress lies in the von Mises ellipse of plane stress, s^2 - s h + h^2 <= sigma^2 (s meridional, h hoop); the
ellipse is convex, so the mean over the wall lies in it too. sigma is the flow stress that the sheet has when it is let
go: laying hardens it, to 1.4 to 2.3 times the yield it came with on five finite-element bells, so that shares of the
yield as bought are no shares of what bounds them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from springfit.mechanics.shell.influence import Influence, at_gauss_points, influences
from springfit.mechanics.shell.release import ShellOfRevolution

__all__ = ["LARGEST_SHARE", "elastic_envelope", "with_large_rotations"]

Array = NDArray[np.float64]

# Largest one stress can be in the ellipse, as a share of sigma: at s = h/2, h^2 (1 - 1/2 + 1/4) = sigma^2.
LARGEST_SHARE = 2 / np.sqrt(3)

# What large rotations add to the linear envelope of a rim, as a share of it for each wall that the envelope is wide.
# Found on 177 flares (60 to 87 degrees, rims of 62 and 108 mm radius, walls 0.3 to 0.5 mm, 150 to 450 MPa) by following
# the stress that moves the rim furthest: 0.03 on average, 0.061 at most up to 3 walls, 0.075 up to 5, so 14 to 37 % for
# envelopes of 2 to 5 walls. Beyond 5 walls the worst stress can snap the rim over, up to 2.9 times the linear envelope.
ADDED_PER_WALL = 0.075
WALLS_BEFORE_SNAPPING = 5.0

# Points of Gauss through the wall; assumed fine enough
_LAYERS, _LAYER_WEIGHTS = np.polynomial.legendre.leggauss(6)


def elastic_envelope(
    shell: ShellOfRevolution, flow_stress: ArrayLike, *, at: ArrayLike | None = None
) -> Array:
    """The largest normal displacement any stress below flow can give on release, (stations of `at`,) [mm].

    flow_stress: at the stations, (n,) or one value [MPa]. at: station numbers wanted; None = all.
    By Betti u_n(S) = -integral of e(s; S).n* r ds, e the strains under a unit normal force at S. Its greatest
    value over every stress field inside the yield ellipse, layer by layer and station by station, is the
    integral of the ellipse's support function, (2/sqrt 3) sigma sqrt(a^2 + a b + b^2) with (a, b) the strains
    of the layer: attained, so no sharper bound holds without more physics. Symmetric: the displacement lies
    within plus and minus this. Tail registered. It bounds the linear release of stress below the flow stress given,
    which should be that of the sheet when let go; large rotations add `with_large_rotations`.
    """
    sigma = _checked_flow(at_gauss_points(shell, flow_stress))

    def largest(influence: Influence) -> Array:
        strain, wall = influence.strain, influence.wall
        total = np.zeros(strain.shape[2])
        for layer, share in zip(_LAYERS / 2, _LAYER_WEIGHTS / 2, strict=True):
            a = strain[:, 0] + (layer * wall)[:, None] * strain[:, 2]
            b = strain[:, 1] + (layer * wall)[:, None] * strain[:, 3]
            total += share * (influence.weight * sigma * wall) @ np.sqrt(a * a + a * b + b * b)
        return LARGEST_SHARE * total

    return np.concatenate([largest(part) for part in influences(shell, at)])


def with_large_rotations(envelope: ArrayLike, wall: ArrayLike) -> Array:
    """The linear envelope with what large rotations add, outward; both [mm], broadcast. Inward they take away.

    A bound up to an envelope of WALLS_BEFORE_SNAPPING walls; a wider one may snap over and has none, so this is then
    the best that can be said.
    """
    linear = np.asarray(envelope, dtype=float)
    added = ADDED_PER_WALL * np.minimum(linear / np.asarray(wall, dtype=float), WALLS_BEFORE_SNAPPING)
    return linear * (1 + added)


def _checked_flow(sigma: Array) -> Array:
    if not (sigma > 0).all():
        raise ValueError(f"flow_stress: found {np.min(sigma)} MPa, expected more than 0 at every station")
    return sigma
