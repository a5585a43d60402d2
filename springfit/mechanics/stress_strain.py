"""Stress against strain in plane strain, with the two primitives that make bending integrals exact."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["Bilinear", "Curve", "PowerLaw", "plane_strain"]

Array = NDArray[np.float64]


class Curve(ABC):
    """An odd stress-strain curve: slope `modulus` [MPa] up to `yield_strain`, then as the subclass says."""

    modulus: float

    @property
    @abstractmethod
    def yield_strain(self) -> float:
        """Strain up to which the curve is linear [-]."""

    @property
    @abstractmethod
    def largest_stress(self) -> float:
        """Stress the curve never passes [MPa]; infinite when it hardens."""

    @abstractmethod
    def _plastic(self, e: Array) -> tuple[Array, Array, Array]:
        """Stress beyond yield, and its integrals from yield of sigma and of e sigma."""

    @abstractmethod
    def strain(self, stress: Array) -> Array:
        """Strain at which a stress >= 0 below the largest is reached [-]."""

    def stress(self, strain: ArrayLike) -> Array:
        """Stress [MPa], of the sign of the strain."""
        e = np.abs(np.asarray(strain, dtype=float))
        beyond = self._plastic(np.maximum(e, self.yield_strain))[0]
        size: Array = np.where(e <= self.yield_strain, self.modulus * e, beyond)
        return np.sign(strain) * size

    def area(self, strain: ArrayLike) -> Array:
        """Integral of the stress from 0 [MPa], even in the strain."""
        e = np.abs(np.asarray(strain, dtype=float))
        linear = np.minimum(e, self.yield_strain)
        return self.modulus * linear**2 / 2 + self._plastic(np.maximum(e, self.yield_strain))[1]

    def first_moment(self, strain: ArrayLike) -> Array:
        """Integral of strain times stress from 0 [MPa], odd in the strain."""
        e = np.abs(np.asarray(strain, dtype=float))
        linear = np.minimum(e, self.yield_strain)
        size = self.modulus * linear**3 / 3 + self._plastic(np.maximum(e, self.yield_strain))[2]
        return np.sign(strain) * size


@dataclass(frozen=True)
class Bilinear(Curve):
    """Linear to `yield_stress`, then with slope `tangent` (0: does not harden) [MPa]."""

    modulus: float
    yield_stress: float
    tangent: float = 0.0

    def __post_init__(self) -> None:
        _more_than_zero(modulus=self.modulus, yield_stress=self.yield_stress)
        if not 0 <= self.tangent < self.modulus:
            raise ValueError(
                f"tangent: found {self.tangent} MPa, expected 0 up to the modulus {self.modulus}"
            )

    @property
    def yield_strain(self) -> float:
        """Y'/E' [-]."""
        return self.yield_stress / self.modulus

    @property
    def largest_stress(self) -> float:
        """Y' when it does not harden [MPa]."""
        return np.inf if self.tangent > 0 else self.yield_stress

    def strain(self, stress: Array) -> Array:
        """Inverse of the curve [-]."""
        beyond = np.maximum(stress - self.yield_stress, 0)
        hardened = beyond / self.tangent if self.tangent > 0 else np.zeros_like(beyond)
        inverse: Array = np.minimum(stress, self.yield_stress) / self.modulus + hardened
        return inverse

    def _plastic(self, e: Array) -> tuple[Array, Array, Array]:
        y, slope, past = self.yield_strain, self.tangent, e - self.yield_strain
        base = self.yield_stress - slope * y
        area = self.yield_stress * past + slope * past**2 / 2
        first = base * (e**2 - y**2) / 2 + slope * (e**3 - y**3) / 3
        return self.yield_stress + slope * past, area, first


@dataclass(frozen=True)
class PowerLaw(Curve):
    """K' e^n [MPa], joined to the elastic line where the two meet, e = (K'/E')^(1/(1-n)).

    Without its `elastic_core` the power holds from zero, as the textbook closed form has it.
    """

    modulus: float
    coefficient: float
    exponent: float
    elastic_core: bool = True

    def __post_init__(self) -> None:
        _more_than_zero(modulus=self.modulus, coefficient=self.coefficient, exponent=self.exponent)
        if not self.exponent < 1:
            raise ValueError(f"exponent: found {self.exponent}, expected less than 1")

    @property
    def yield_strain(self) -> float:
        """Where the power law leaves the elastic line [-]."""
        if not self.elastic_core:
            return 0.0
        return float((self.coefficient / self.modulus) ** (1 / (1 - self.exponent)))

    @property
    def largest_stress(self) -> float:
        """A power law has none."""
        return np.inf

    def strain(self, stress: Array) -> Array:
        """Inverse of the curve [-]."""
        power: Array = (stress / self.coefficient) ** (1 / self.exponent)
        return np.maximum(stress / self.modulus, power) if self.elastic_core else power

    def _plastic(self, e: Array) -> tuple[Array, Array, Array]:
        k, n, y = self.coefficient, self.exponent, self.yield_strain
        area = k * (e ** (n + 1) - y ** (n + 1)) / (n + 1)
        return k * e**n, area, k * (e ** (n + 2) - y ** (n + 2)) / (n + 2)


def plane_strain(youngs_modulus: float, poisson_ratio: float) -> tuple[float, float]:
    """E' = E/(1 - nu^2) [MPa], and the factor 2/sqrt 3 from uniaxial to plane-strain flow stress (von Mises).

    A uniaxial K e^n becomes K (2/sqrt 3)^(n+1) e^n: stress and equivalent strain each carry the factor.
    """
    if not -1 < poisson_ratio < 0.5:
        raise ValueError(f"poisson_ratio: found {poisson_ratio}, expected between -1 and 0.5")
    return youngs_modulus / (1 - poisson_ratio**2), 2 / np.sqrt(3)


def _more_than_zero(**values: float) -> None:
    for name, value in values.items():
        if not value > 0:
            raise ValueError(f"{name}: found {value}, expected more than 0")
