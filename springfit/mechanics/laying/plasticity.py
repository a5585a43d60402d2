"""Plane-stress J2 plasticity with power-law hardening, integrated by radial return."""

from __future__ import annotations

__all__ = ["FlowCurve", "Metal", "returned"]

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.kernels.compiled import inlined, inner

Array = NDArray[np.float64]

# Return iterations stop when the yield function is below this share of the flow stress.
YIELD_TOLERANCE = 1.0e-9
MAX_RETURN_STEPS = 40  # a bound
ROOT_HALF = math.sqrt(0.5)


class Metal(NamedTuple):
    """A flow curve as compiled code takes it; `kx` = E/(1 - nu), `ky` = E/(1 + nu) [MPa]."""

    kx: float
    ky: float
    strength: float
    exponent: float
    prestrain: float


@dataclass(frozen=True)
class FlowCurve:
    """Elastic constants and the hardening law sigma = K (e0 + ep)^n with K e0^n = the yield strength.

    Fields: `youngs_modulus` [MPa] > 0, `poisson_ratio` [-] in (-1, 0.5), `strength_coefficient` K [MPa] > 0,
    `hardening_exponent` n [-] in [0, 1], `yield_strength` [MPa] in (0, K]. n = 0 is elastic-perfectly plastic at K.
    Raises ValueError naming the field out of range.
    """

    youngs_modulus: float
    poisson_ratio: float
    strength_coefficient: float
    hardening_exponent: float
    yield_strength: float

    def __post_init__(self) -> None:
        bounds = {
            "youngs_modulus": (0.0, math.inf),
            "poisson_ratio": (-1.0, 0.5),
            "strength_coefficient": (0.0, math.inf),
            "yield_strength": (0.0, self.strength_coefficient * (1.0 + 1.0e-12)),
        }
        for name, (low, high) in bounds.items():
            value = float(getattr(self, name))
            if not low < value < high:
                raise ValueError(f"FlowCurve.{name}: found {value!r}, expected a number between {low} and {high}")
        if not 0.0 <= self.hardening_exponent <= 1.0:
            raise ValueError(
                f"FlowCurve.hardening_exponent: found {self.hardening_exponent!r}, expected 0 to 1"
            )

    @property
    def prestrain(self) -> float:
        """Offset strain e0 [-] of the hardening law."""
        if self.hardening_exponent == 0.0:
            return 1.0
        ratio = self.yield_strength / self.strength_coefficient
        return float(ratio ** (1.0 / self.hardening_exponent))

    @property
    def metal(self) -> Metal:
        """The same for compiled code."""
        return Metal(
            float(self.youngs_modulus / (1.0 - self.poisson_ratio)),
            float(self.youngs_modulus / (1.0 + self.poisson_ratio)),
            float(self.strength_coefficient),
            float(self.hardening_exponent),
            self.prestrain,
        )


@inlined
def returned(strain_1, strain_2, plastic_1, plastic_2, equivalent, flow, metal):  # type: ignore[no-untyped-def]
    """One point of the plane-stress return, `flow` [MPa] being its flow stress before the step.

    Two principal directions, no shear, zero stress through the wall. In the rotated pair
    x = (s1 + s2)/sqrt2, y = (s1 - s2)/sqrt2 both elasticity and J2 are diagonal, s_eq^2 = x^2/2 + 3 y^2/2, and the
    backward-Euler step is x = kx ex / (1 + g kx/2), y = ky ey / (1 + 3 g ky/2) with kx = E/(1 - nu), ky = E/(1 + nu),
    and g the root of s_eq(g) = flow(ep + g s_eq(g)); the tangent is its exact derivative. Source: the standard
    plane-stress return (Simo and Taylor 1986), rederived. Gives

    (stress 1, 2, tangent 11, 12, 22, plastic 1, 2, equivalent, flow, spare): `spare` [MPa] is how far the equivalent
    stress stays below the flow stress, nan where the yield is not met.
    """
    kx, ky = metal.kx, metal.ky
    x = kx * (strain_1 - plastic_1 + strain_2 - plastic_2) * ROOT_HALF
    y = ky * (strain_1 - plastic_1 - strain_2 + plastic_2) * ROOT_HALF
    square = 0.5 * x * x + 1.5 * y * y
    if square <= flow * flow:
        mean, half = 0.5 * (kx + ky), 0.5 * (kx - ky)
        spare = flow - math.sqrt(square)
        return (x + y) * ROOT_HALF, (x - y) * ROOT_HALF, mean, half, mean, plastic_1, plastic_2, equivalent, flow, spare
    g, x, y, effective, flow, slope = _return_factor(x, y, equivalent, flow, metal)
    dx, dy = 1.0 / (1.0 + 0.5 * kx * g), 1.0 / (1.0 + 1.5 * ky * g)
    mx, my = 0.5 * x / effective, 1.5 * y / effective
    ax, ay = kx * dx, ky * dy
    keep = 1.0 - slope * g
    scale = keep / (keep * (mx * ax * mx + my * ay * my) + slope)
    txx, tyy, txy = ax - scale * (ax * mx) ** 2, ay - scale * (ay * my) ** 2, -scale * ax * mx * ay * my
    step_x, step_y = g * effective * mx, g * effective * my
    plastic_1 += (step_x + step_y) * ROOT_HALF
    plastic_2 += (step_x - step_y) * ROOT_HALF
    mean, half = 0.5 * (txx + tyy), 0.5 * (txx - tyy)
    return (
        (x + y) * ROOT_HALF, (x - y) * ROOT_HALF, mean + txy, half, mean - txy,
        plastic_1, plastic_2, equivalent + g * effective, flow, 0.0 * g,
    )  # fmt: skip


@inner
def _return_factor(x, y, equivalent, flow, metal):  # type: ignore[no-untyped-def]
    """Root g [1/MPa] of the scalar return equation, by Newton on a convex decreasing function from below.

    With it x, y, s_eq and flow stress and its slope there; nan for g when it is not found.
    """
    kx, ky = metal.kx, metal.ky
    g = 0.0
    xr, yr = x, y
    effective = math.sqrt(0.5 * x * x + 1.5 * y * y)
    slope = metal.exponent * flow / (metal.prestrain + equivalent)
    for _ in range(MAX_RETURN_STEPS):
        excess = effective - flow
        if abs(excess) < YIELD_TOLERANCE * flow:
            return g, xr, yr, effective, flow, slope
        dx, dy = 1.0 / (1.0 + 0.5 * kx * g), 1.0 / (1.0 + 1.5 * ky * g)
        rate = -(0.25 * kx * xr * xr * dx + 2.25 * ky * yr * yr * dy) / effective
        derivative = rate * (1.0 - slope * g) - slope * effective
        g = max(g - excess / derivative, 0.0)
        xr, yr = x / (1.0 + 0.5 * kx * g), y / (1.0 + 1.5 * ky * g)
        effective = math.sqrt(0.5 * xr * xr + 1.5 * yr * yr)
        total = metal.prestrain + equivalent + g * effective
        # The power by way of its logarithm, which is compiled to something far quicker.
        flow = metal.strength * math.exp(metal.exponent * math.log(total))
        slope = metal.exponent * flow / total
    return math.nan, xr, yr, effective, flow, slope
