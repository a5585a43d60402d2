"""Plane-stress J2 plasticity with power-law hardening, integrated by radial return."""

from __future__ import annotations

__all__ = ["FlowCurve", "PlaneStressState", "plane_stress_return"]

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

# Return iterations stop when the yield function is below this share of the flow stress.
YIELD_TOLERANCE = 1.0e-11
MAX_RETURN_STEPS = 40


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

    def stress_and_slope(self, plastic_strain: Array) -> tuple[Array, Array]:
        """Flow stress [MPa] and its slope d sigma / d ep [MPa] at an equivalent plastic strain array."""
        total = self.prestrain + plastic_strain
        stress = self.strength_coefficient * total**self.hardening_exponent
        return stress, self.hardening_exponent * stress / total


@dataclass(frozen=True)
class PlaneStressState:
    """Stress, consistent tangent and history at material points (arrays of one common shape).

    `stress_1`, `stress_2` [MPa]; `tangent_11`, `tangent_12`, `tangent_22` = d stress / d strain [MPa];
    `plastic_1`, `plastic_2`, `equivalent` [-] the plastic strains after the step.
    """

    stress_1: Array
    stress_2: Array
    tangent_11: Array
    tangent_12: Array
    tangent_22: Array
    plastic_1: Array
    plastic_2: Array
    equivalent: Array


def plane_stress_return(
    strain_1: Array, strain_2: Array, *, plastic_1: Array, plastic_2: Array, equivalent: Array, curve: FlowCurve
) -> PlaneStressState:
    """Stress at total principal strains, from the plastic strains held before the step.

    Two principal directions, no shear, zero stress through the wall. In the rotated pair
    x = (s1 + s2)/sqrt2, y = (s1 - s2)/sqrt2 both elasticity and J2 are diagonal, s_eq^2 = x^2/2 + 3 y^2/2, and the
    backward-Euler step is x = kx ex / (1 + g kx/2), y = ky ey / (1 + 3 g ky/2) with kx = E/(1 - nu), ky = E/(1 + nu),
    and g the root of s_eq(g) = flow(ep + g s_eq(g)); the tangent is its exact derivative.
    All arrays [-] share one shape. Source: the standard plane-stress return (Simo and Taylor 1986), rederived.
    """
    root2 = math.sqrt(2.0)
    kx = curve.youngs_modulus / (1.0 - curve.poisson_ratio)
    ky = curve.youngs_modulus / (1.0 + curve.poisson_ratio)
    elastic_1, elastic_2 = strain_1 - plastic_1, strain_2 - plastic_2
    x = kx * (elastic_1 + elastic_2) / root2
    y = ky * (elastic_1 - elastic_2) / root2
    txx, tyy, txy = np.full_like(x, kx), np.full_like(x, ky), np.zeros_like(x)
    new_1, new_2, new_eq = plastic_1.copy(), plastic_2.copy(), equivalent.copy()
    flow, _ = curve.stress_and_slope(equivalent)
    yielding = 0.5 * x * x + 1.5 * y * y > flow * flow
    if np.any(yielding):
        px, py, pe = x[yielding], y[yielding], equivalent[yielding]
        g = _return_factor(px, py, pe, kx=kx, ky=ky, curve=curve)
        dx, dy = 1.0 / (1.0 + 0.5 * kx * g), 1.0 / (1.0 + 1.5 * ky * g)
        px, py = px * dx, py * dy
        effective = np.sqrt(0.5 * px * px + 1.5 * py * py)
        pe = pe + g * effective
        _, slope = curve.stress_and_slope(pe)
        mx, my = 0.5 * px / effective, 1.5 * py / effective
        ax, ay = kx * dx, ky * dy
        keep = 1.0 - slope * g
        denominator = keep * (mx * ax * mx + my * ay * my) + slope
        scale = keep / denominator
        txx[yielding] = ax - scale * (ax * mx) ** 2
        tyy[yielding] = ay - scale * (ay * my) ** 2
        txy[yielding] = -scale * ax * mx * ay * my
        x[yielding], y[yielding] = px, py
        step_x, step_y = g * effective * mx, g * effective * my
        new_1[yielding] += (step_x + step_y) / root2
        new_2[yielding] += (step_x - step_y) / root2
        new_eq[yielding] = pe
    mean, half = 0.5 * (txx + tyy), 0.5 * (txx - tyy)
    return PlaneStressState(
        stress_1=(x + y) / root2,
        stress_2=(x - y) / root2,
        tangent_11=mean + txy,
        tangent_12=half,
        tangent_22=mean - txy,
        plastic_1=new_1,
        plastic_2=new_2,
        equivalent=new_eq,
    )


def _return_factor(x: Array, y: Array, equivalent: Array, *, kx: float, ky: float, curve: FlowCurve) -> Array:
    """Root g [1/MPa] of the scalar return equation, by Newton on a convex decreasing function from below."""
    g = np.zeros_like(x)
    for _ in range(MAX_RETURN_STEPS):
        dx, dy = 1.0 / (1.0 + 0.5 * kx * g), 1.0 / (1.0 + 1.5 * ky * g)
        xr, yr = x * dx, y * dy
        effective = np.sqrt(0.5 * xr * xr + 1.5 * yr * yr)
        flow, slope = curve.stress_and_slope(equivalent + g * effective)
        excess = effective - flow
        if float(np.max(np.abs(excess) / flow)) < YIELD_TOLERANCE:
            return g
        rate = -(0.25 * kx * xr * xr * dx + 2.25 * ky * yr * yr * dy) / effective
        derivative = rate * (1.0 - slope * g) - slope * effective
        g = np.maximum(g - excess / derivative, 0.0)
    raise ArithmeticError(
        f"plane_stress_return: yield not met after {MAX_RETURN_STEPS} steps "
        f"(largest excess {float(np.max(np.abs(excess)))!r} MPa); smaller increments are needed"
    )
