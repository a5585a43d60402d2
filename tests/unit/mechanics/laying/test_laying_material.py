"""The plane-stress return: on the yield surface, along the curve, with an exact tangent."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from springfit.mechanics.laying.plasticity import FlowCurve
from springfit.mechanics.laying.plasticity import returned as returned_point

BRASS = FlowCurve(
    youngs_modulus=110_000.0,
    poisson_ratio=0.345,
    strength_coefficient=750.0,
    hardening_exponent=0.4,
    yield_strength=150.0,
)
TANGENT_TOLERANCE = 1.0e-6
YIELD_TOLERANCE_MPA = 1.0e-6


@dataclass(frozen=True)
class PlaneStressState:
    """Stress, consistent tangent and history at material points, each (n,)."""

    stress_1: np.ndarray
    stress_2: np.ndarray
    tangent_11: np.ndarray
    tangent_12: np.ndarray
    tangent_22: np.ndarray
    plastic_1: np.ndarray
    plastic_2: np.ndarray
    equivalent: np.ndarray


def returned(strain_1: np.ndarray, strain_2: np.ndarray, curve: FlowCurve = BRASS) -> PlaneStressState:
    """Every point of the compiled return, from virgin sheet."""
    flow, strains = flow_at(0.0, curve), zip(strain_1, strain_2, strict=True)
    found = [returned_point(*strain, 0.0, 0.0, 0.0, flow, curve.metal) for strain in strains]
    return PlaneStressState(*np.array(found).T[:8])


def flow_at(equivalent: float, curve: FlowCurve = BRASS) -> float:
    """K (e0 + ep)^n, with K e0^n the yield strength."""
    if curve.hardening_exponent == 0.0:
        return curve.strength_coefficient
    prestrain = (curve.yield_strength / curve.strength_coefficient) ** (1.0 / curve.hardening_exponent)
    return float(curve.strength_coefficient * (prestrain + equivalent) ** curve.hardening_exponent)


def scattered(count: int = 400) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(5)
    return rng.normal(0.0, 0.02, count), rng.normal(0.0, 0.02, count)


def test_small_strains_are_hookes_law() -> None:
    state = returned(np.array([1.0e-4]), np.array([-2.0e-4]))
    factor = BRASS.youngs_modulus / (1.0 - BRASS.poisson_ratio**2)
    assert state.stress_1[0] == pytest.approx(factor * (1.0e-4 - 2.0e-4 * BRASS.poisson_ratio))
    assert state.stress_2[0] == pytest.approx(factor * (-2.0e-4 + 1.0e-4 * BRASS.poisson_ratio))
    assert state.equivalent[0] == 0.0


def test_yielded_points_lie_on_the_flow_curve() -> None:
    state = returned(*scattered())
    effective = np.sqrt(state.stress_1**2 - state.stress_1 * state.stress_2 + state.stress_2**2)
    flow = np.array([flow_at(ep) for ep in state.equivalent])
    yielded = state.equivalent > 0.0
    assert yielded.sum() > 300
    assert np.max(np.abs(effective - flow)[yielded]) < YIELD_TOLERANCE_MPA
    assert np.all(effective[~yielded] <= BRASS.yield_strength + YIELD_TOLERANCE_MPA)


def test_tangent_is_the_derivative_of_the_stress() -> None:
    e1, e2 = scattered()
    state, step = returned(e1, e2), 1.0e-8
    right, left = returned(e1 + step, e2), returned(e1 - step, e2)
    up, down = returned(e1, e2 + step), returned(e1, e2 - step)
    scale = BRASS.youngs_modulus
    assert np.max(np.abs((right.stress_1 - left.stress_1) / (2 * step) - state.tangent_11)) < scale * TANGENT_TOLERANCE
    assert np.max(np.abs((right.stress_2 - left.stress_2) / (2 * step) - state.tangent_12)) < scale * TANGENT_TOLERANCE
    assert np.max(np.abs((up.stress_2 - down.stress_2) / (2 * step) - state.tangent_22)) < scale * TANGENT_TOLERANCE


def test_plastic_strain_follows_the_normal_to_the_yield_surface() -> None:
    state = returned(*scattered())
    yielded = state.equivalent > 1.0e-6
    e1 = state.plastic_1[yielded] / state.equivalent[yielded]
    flow = np.array([flow_at(ep) for ep in state.equivalent])
    normal = (2.0 * state.stress_1 - state.stress_2) / (2.0 * flow)
    assert np.allclose(e1, normal[yielded], rtol=1.0e-9, atol=1.0e-9)


def test_no_hardening_stays_at_the_yield() -> None:
    flat = FlowCurve(110_000.0, 0.33, 345.0, 0.0, 345.0)
    state = returned(np.array([0.03]), np.array([0.0]), flat)
    effective = np.sqrt(state.stress_1**2 - state.stress_1 * state.stress_2 + state.stress_2**2)
    assert effective[0] == pytest.approx(345.0)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("youngs_modulus", -1.0),
        ("poisson_ratio", 0.5),
        ("strength_coefficient", float("nan")),
        ("hardening_exponent", 1.5),
        ("yield_strength", 800.0),
    ],
)
def test_impossible_curves_name_the_field(field: str, value: float) -> None:
    good = {
        "youngs_modulus": 110_000.0,
        "poisson_ratio": 0.345,
        "strength_coefficient": 750.0,
        "hardening_exponent": 0.4,
        "yield_strength": 150.0,
    }
    with pytest.raises(ValueError, match=field):
        FlowCurve(**{**good, field: value})
