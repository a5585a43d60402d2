"""What physics allows: the stress that can be locked in, how far its release moves a bell, what washes out.

Shares of flow stress (before release): N_theta = -k_h sigma t, N_s = k_s sigma t, M_s = k_m sigma t^2/4.
Every stress lies in the von Mises ellipse of plane stress, s^2 - s h + h^2 <= sigma^2 (s meridional, h hoop);
the ellipse is convex, so the mean over the wall lies in it too. The bounds below follow from that alone.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from springfit.mechanics.shell.decay import decay_length
from springfit.mechanics.shell.influence import Influence, at_gauss_points, influences
from springfit.mechanics.shell.release import ShellOfRevolution

__all__ = ["Shares", "decay_length", "elastic_envelope", "facet_dead_band", "share_envelope"]

Array = NDArray[np.float64]

# Largest one stress can be in the ellipse, as a share of sigma: at s = h/2, h^2 (1 - 1/2 + 1/4) = sigma^2.
LARGEST_SHARE = 2 / np.sqrt(3)

# Hoop shares met in a finite-element study of bells laid by a travelling nose (annealed to half hard, 0.4-0.6
# mm wall, high and low preforms): the useful range, not a bound. It passes 1.15 because flow stress is
# counted before laying.
USEFUL_HOOP = (-0.3, 1.2)

_LAYERS, _LAYER_WEIGHTS = np.polynomial.legendre.leggauss(6)


class Shares(NamedTuple):
    """Shares of flow stress at the stations, each (n,) or one value [-]."""

    hoop: ArrayLike
    meridional: ArrayLike
    moment: ArrayLike

    def excess(self) -> Array:
        """How far the shares lie outside what can be locked in, <= 1 when they can.

        The larger of the membrane's place in the ellipse, sqrt(k_h^2 + k_h k_s + k_s^2) (its square is the
        quadratic of the stresses; hoop counts negative), and |k_m|/[L (1 - (k_s/L)^2)], L = 2/sqrt 3: with
        |s| <= L sigma the moment beside a force is greatest when one face has yielded each way, M = L sigma
        t^2/4 (1 - (N/(L sigma t))^2).
        """
        hoop, meridional, moment = (np.asarray(v, dtype=float) for v in self)
        membrane = np.sqrt(hoop**2 + hoop * meridional + meridional**2)
        room = np.maximum(LARGEST_SHARE * (1 - (meridional / LARGEST_SHARE) ** 2), 1e-12)
        worst: Array = np.maximum(membrane, np.abs(moment) / room)
        return worst


def elastic_envelope(
    shell: ShellOfRevolution, flow_stress: ArrayLike, *, at: ArrayLike | None = None
) -> Array:
    """The largest normal displacement any stress below flow can give on release, (stations of `at`,) [mm].

    flow_stress: at the stations, (n,) or one value [MPa]. at: station numbers wanted; None = all.
    By Betti u_n(S) = -integral of e(s; S).n* r ds, e the strains under a unit normal force at S. Its greatest
    value over every stress field inside the yield ellipse, layer by layer and station by station, is the
    integral of the ellipse's support function, (2/sqrt 3) sigma sqrt(a^2 + a b + b^2) with (a, b) the strains
    of the layer: attained, so no sharper bound holds without more physics. Symmetric: the displacement lies
    within plus and minus this. Tail registered. It bounds the linear release; large rotations near a nearly
    flat rim have been seen to add a tenth.
    """
    sigma = _checked_flow(at_gauss_points(shell, flow_stress))

    def reach(influence: Influence) -> Array:
        strain, wall = influence.strain, influence.wall
        total = np.zeros(strain.shape[2])
        for layer, share in zip(_LAYERS / 2, _LAYER_WEIGHTS / 2, strict=True):
            a = strain[:, 0] + (layer * wall)[:, None] * strain[:, 2]
            b = strain[:, 1] + (layer * wall)[:, None] * strain[:, 3]
            total += share * (influence.weight * sigma * wall) @ np.sqrt(a * a + a * b + b * b)
        return LARGEST_SHARE * total

    return np.concatenate([reach(part) for part in influences(shell, at)])


def share_envelope(
    shell: ShellOfRevolution,
    flow_stress: ArrayLike,
    *,
    hoop: tuple[float, float] = USEFUL_HOOP,
    meridional: tuple[float, float] = (-LARGEST_SHARE, LARGEST_SHARE),
    moment: tuple[float, float] = (-LARGEST_SHARE, LARGEST_SHARE),
    at: ArrayLike | None = None,
) -> tuple[Array, Array]:
    """Least and greatest normal displacement with each share in its own range, (stations of `at`,) each [mm].

    The ranges hold at every station but the shares may vary in any way along it. M_theta is nu M_s (plane
    strain bending). Every corner of the ranges is tried at every station, so the pair is attained, as in
    `elastic_envelope`.
    """
    sigma = _checked_flow(at_gauss_points(shell, flow_stress))

    def reach(influence: Influence) -> Array:
        strain, wall = influence.strain, influence.wall
        force = influence.weight * sigma * wall
        bending = strain[:, 2] + shell.poisson_ratio * strain[:, 3]
        total = np.zeros((2, strain.shape[2]))
        for effect, (least, most), size in (
            (strain[:, 1], hoop, force),
            (-strain[:, 0], meridional, force),
            (-bending, moment, force * wall / 4),
        ):
            ends = np.stack([effect * least, effect * most])
            total += size @ ends.min(axis=0), size @ ends.max(axis=0)
        return total

    low, high = np.concatenate([reach(part) for part in influences(shell, at)], axis=1)
    return low, high


def facet_dead_band(
    r: ArrayLike,
    slope: ArrayLike,
    *,
    flow_stress: ArrayLike,
    youngs_modulus: float,
    wall: ArrayLike,
    length: ArrayLike,
) -> Array:
    """Depth of a facet, along the normal, that the sheet can follow elastically and so need not keep [mm].

    A facet of depth d and length l asks the hoop for d cos(slope)/r and the meridian for a curvature 8 d/l^2,
    so a face strain 4 d t/l^2. While neither passes sigma/E nothing need yield: d <= (sigma/E)
    min(r/cos(slope), l^2/(4 t)). What washes out is at most this; a deeper facet keeps at least its depth
    less this much. Holds for a sheet that was round and stress-free on both sides of the facet; work hardened
    there, it keeps more.
    """
    radius, thickness = np.asarray(r, dtype=float), np.asarray(wall, dtype=float)
    hoop = radius / np.maximum(np.abs(np.cos(slope)), 1e-9)
    bending = np.asarray(length, dtype=float) ** 2 / (4 * thickness)
    depth: Array = np.asarray(flow_stress, dtype=float) / youngs_modulus * np.minimum(hoop, bending)
    return depth


def _checked_flow(sigma: Array) -> Array:
    if not (sigma > 0).all():
        raise ValueError(f"flow_stress: found {np.min(sigma)} MPa, expected more than 0 at every station")
    return sigma
