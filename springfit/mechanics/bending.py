"""Elastic-plastic bending of a wide sheet: moment, recovery when let go, residual stress, and the inverse.

Plane strain across the width, plane sections, thin against the radius, monotone loading, elastic unloading:

    moment M(kappa) = integral of sigma(e0 + kappa y) y dy        e0 from the tension T = integral of sigma dy
    after release   kappa_f = kappa - 12 M/(E' t^3)               residual sigma - 12 M y/t^3 - T/t

With the primitives F, G of sigma(e) and e sigma(e) both integrals are exact: T = [F]/kappa, M = [G - e0
F]/kappa^2 between the face strains e0 -+ kappa t/2, whatever part of the section has yielded. E' = E/(1 -
nu^2), and a uniaxial yield Y becomes (2/sqrt 3) Y. Theory: Gardiner, Trans. ASME 79 (1957); Marciniak, Duncan
& Hu, Mechanics of Sheet Metal Forming, ch. 6 and 10. Bending alone: a spun bell keeps more shape than this
says, since the hoop stretch sets it too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from springfit.mechanics.stress_strain import Curve

__all__ = ["Bent", "bend", "gardiner_ratio", "radius_to_bend"]

Array = NDArray[np.float64]

BISECTIONS = 80  # halves the bracket of the membrane strain to the last bit


@dataclass(frozen=True)
class Bent:
    """A sheet bent to a curvature under a tension; arrays of one shape.

    curvature [1/mm], tension [N/mm], membrane_strain (of the middle) [-], moment [N], wall [mm].
    """

    curve: Curve
    wall: Array
    curvature: Array
    tension: Array
    membrane_strain: Array
    moment: Array

    @property
    def recovered(self) -> Array:
        """Curvature left after release [1/mm]."""
        left: Array = self.curvature - 12 * self.moment / (self.curve.modulus * self.wall**3)
        return left

    @property
    def ratio(self) -> Array:
        """Share of the curvature kept, kappa_f/kappa = R/R_f [-]."""
        return self.recovered / self.curvature

    def residual_stress(self, y: ArrayLike) -> Array:
        """Stress left at height y from the middle (positive: outer, stretched side) [MPa]."""
        height = np.asarray(y, dtype=float)
        loaded = self.curve.stress(self.membrane_strain + self.curvature * height)
        left: Array = loaded - 12 * self.moment * height / self.wall**3 - self.tension / self.wall
        return left


def bend(curve: Curve, curvature: ArrayLike, *, wall: ArrayLike, tension: ArrayLike = 0.0) -> Bent:
    """Bend a flat sheet to a curvature [1/mm] under a tension [N/mm] held from the start.

    Arguments broadcast. Raises ValueError for a curvature or wall that is not positive, or a tension that a
    sheet which does not harden cannot carry.
    """
    kappa, t, pull = np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in (curvature, wall, tension)))
    for name, values in (("curvature", kappa), ("wall", t)):
        if not (values > 0).all():
            raise ValueError(f"{name}: found {np.min(values)}, expected more than 0")
    most = curve.largest_stress
    if not (np.abs(pull) < most * t).all():
        raise ValueError(f"tension: found {np.max(np.abs(pull))} N/mm, expected less than {most * np.min(t)}")
    membrane = np.sign(pull) * _membrane_strain(curve, kappa, t, np.abs(pull))
    return Bent(curve, t, kappa, pull, membrane, _moment(curve, kappa, t, membrane))


def gardiner_ratio(x: ArrayLike) -> Array:
    """R_i/R_f = 4 x^3 - 3 x + 1 without hardening, x = R_i Y/(E t); 0 from the elastic limit x = 1/2.

    Gardiner, Trans. ASME 79 (1957) 1-9. Raises ValueError for a negative x.
    """
    clipped = np.minimum(np.asarray(x, dtype=float), 0.5)
    if not (clipped >= 0).all():
        raise ValueError(f"x: found {np.min(clipped)}, expected 0 or more")
    ratio: Array = 4 * clipped**3 - 3 * clipped + 1
    return ratio


def radius_to_bend(curve: Curve, wanted_radius: float, *, wall: float, tension: float = 0.0) -> float:
    """Radius to bend to so that the wanted one is left after release [mm].

    Solved, not stepped once: the recovered curvature rises with the bent one since dM/dkappa <= E' t^3/12.
    """
    if not 0 < wanted_radius < np.inf:
        raise ValueError(f"wanted_radius: found {wanted_radius} mm, expected more than 0")
    wanted = 1 / wanted_radius

    def short(kappa: float) -> float:
        return float(bend(curve, kappa, wall=wall, tension=tension).recovered) - wanted

    high = 2 * wanted
    while short(high) < 0:
        high *= 2
    return 1 / brentq(short, wanted, high, xtol=1e-15, rtol=1e-14)


def _force(curve: Curve, kappa: Array, t: Array, membrane: Array) -> Array:
    return (curve.area(membrane + kappa * t / 2) - curve.area(membrane - kappa * t / 2)) / kappa


def _moment(curve: Curve, kappa: Array, t: Array, membrane: Array) -> Array:
    outer, inner = membrane + kappa * t / 2, membrane - kappa * t / 2
    area = curve.area(outer) - curve.area(inner)
    first = curve.first_moment(outer) - curve.first_moment(inner)
    elastic = (np.abs(membrane) + kappa * t / 2) <= curve.yield_strain
    # The primitives cancel to nothing at small strain, where the answer is known.
    return np.where(elastic, curve.modulus * kappa * t**3 / 12, (first - membrane * area) / kappa**2)


def _membrane_strain(curve: Curve, kappa: Array, t: Array, pull: Array) -> Array:
    """Strain of the middle that carries a tension >= 0; the force rises with it, so the bracket is halved."""
    low = np.zeros_like(pull)
    high = curve.strain(pull / t) + kappa * t / 2
    for _ in range(BISECTIONS):
        middle = (low + high) / 2
        enough = _force(curve, kappa, t, middle) >= pull
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return np.where(pull == 0, 0.0, high)
