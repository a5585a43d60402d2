"""The derivatives of the large-rotation strains against differences, and their tangent against the linear
shell.
"""

from __future__ import annotations

import numpy as np
import pytest

from springfit.mechanics.shell import large_rotations
from springfit.mechanics.shell.large_rotations import LargeRelease, columns_about
from springfit.mechanics.shell.release import ShellOfRevolution
from springfit.mechanics.shell.rotations import (
    second_derivatives,
    strain_gradients,
    strains,
    to_derivatives,
    turned,
)
from tests.helpers.shells.large_release import release_large


def bell() -> ShellOfRevolution:
    s = np.linspace(0, 100, 51)
    slope = np.radians(4 + 80 * (s / 100) ** 3)
    fine = np.linspace(0, 100, 5001)
    angle = np.radians(4 + 80 * (fine / 100) ** 3)
    z, r = (
        np.concatenate([[0], np.cumsum((f[1:] + f[:-1]) / 2 * 0.02)])[::100]
        for f in (np.cos(angle), np.sin(angle))
    )
    return ShellOfRevolution(s, z, 9 + r, slope, wall=0.5, youngs_modulus=110e3, poisson_ratio=0.33)


def test_derivatives_against_differences() -> None:
    elements = bell().elements
    rng = np.random.default_rng(0)
    place = rng.normal(size=(*elements.radius.shape, 5)) * [0.1, 0.1, 0.05, 0.05, 0.3]
    stress = rng.normal(size=(*elements.radius.shape, 4))
    gradient = strain_gradients(elements, turned(elements, place))
    second = second_derivatives(elements, turned(elements, place), stress)
    for i in range(5):
        step = np.zeros(5)
        step[i] = 1e-6
        plus, minus = turned(elements, place + step), turned(elements, place - step)
        change = (strains(elements, plus) - strains(elements, minus)) / 2e-6
        assert change == pytest.approx(gradient[..., i], abs=1e-7)
        bent = (strain_gradients(elements, plus) - strain_gradients(elements, minus)) / 2e-6
        assert (stress[..., None] * bent).sum(axis=-2) == pytest.approx(second[..., i], abs=1e-6)


def test_at_rest_the_gradient_is_the_linear_strain() -> None:
    elements = bell().elements
    at_rest = turned(elements, np.zeros((*elements.radius.shape, 5)))
    assert np.abs(strains(elements, at_rest)).max() < 1e-14
    gradient = strain_gradients(elements, at_rest)
    assert gradient @ to_derivatives(elements) == pytest.approx(elements.strain_matrix(), abs=1e-12)


def newton_steps(problem: LargeRelease, count: int) -> np.ndarray:
    """Largest move [mm or rad] of each Newton step from rest, under hoop stress that grows to the rim."""
    s = problem.shell.stations.s
    field = np.zeros((s.size, 4))
    field[:, 1] = -80 * (s / 100) ** 6
    unknowns, sizes = np.zeros((problem.shell.mesh.node_count, 4)), []
    for _ in range(count):
        step, stable = problem.step(unknowns, problem.locked(field))
        assert stable
        unknowns = unknowns + step
        sizes.append(np.abs(step).max())
    return np.array(sizes)


def converges_quadratically(sizes: np.ndarray) -> bool:
    """Whether each step is at most a constant times the last one squared, down to rounding."""
    return bool((sizes[1:] < 30 * sizes[:-1] ** 2 + 1e-11).all() and sizes[0] > 0.1)  # 18/mm at most is seen


def test_newton_converges_quadratically() -> None:
    assert converges_quadratically(newton_steps(LargeRelease(bell()), 6))


def test_a_wrong_tangent_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """With half of the strains' second derivatives missing the same steps still converge, but no longer so fast."""
    monkeypatch.setattr(large_rotations, "second_derivatives", lambda *a: 0.5 * second_derivatives(*a))
    assert not converges_quadratically(newton_steps(LargeRelease(bell()), 6))


def test_columns_about_nothing_are_the_linear_release() -> None:
    shell = bell()
    fields = np.random.default_rng(2).normal(size=(4, shell.stations.s.size, 3))
    nothing = (None, None, None, None)
    about, linear = columns_about(shell, nothing, *fields), shell.release(*fields)
    assert about.normal == pytest.approx(linear.normal, abs=1e-9 * np.abs(linear.normal).max())


def test_columns_about_a_state_are_the_slope_of_its_large_release() -> None:
    shell = bell()
    x = shell.stations.s / 100
    state, column = -60 * x**6, np.sin(5 * x)
    ends = [release_large(shell, n_theta=state + h * column).normal for h in (1e-2, -1e-2)]
    about = columns_about(shell, (None, state, None, None), n_theta=column)
    assert about.normal == pytest.approx((ends[0] - ends[1]) / 2e-2, abs=1e-5 * np.abs(about.normal).max())


def test_columns_about_half_a_state_give_its_large_release() -> None:
    """The midpoint rule: what the columns miss is of the third order, so halving the state leaves an eighth."""
    shell, missed = bell(), []
    for size in (-80.0, -40.0):
        state = size * (shell.stations.s / 100) ** 6
        large = release_large(shell, n_theta=state).normal
        about = columns_about(shell, (None, state / 2, None, None), n_theta=state).normal
        missed.append(np.abs(about - large).max())
    assert missed[0] < 0.01 * np.abs(large).max()
    assert missed[0] / missed[1] == pytest.approx(8, rel=0.3)


def test_a_seated_shell_past_buckling_still_finds_its_free_shape() -> None:
    """A flat cone squeezed to 1 % on the mandrel would buckle if let go there; free of stress it is 1 %
    larger.
    """
    slope, count = 1.4, 101
    s = np.linspace(0, 80, count)
    cone = ShellOfRevolution(
        s, s * np.cos(slope), 30 + s * np.sin(slope), np.full(count, slope),
        wall=0.4, youngs_modulus=110e3, poisson_ratio=0.33,
    )  # fmt: skip
    squeeze = np.full(count, -0.01 * 110e3 * 0.4 / 0.67)
    _, stable = LargeRelease(cone).step(
        np.zeros((cone.mesh.node_count, 4)), np.full((1, 1, 4), squeeze[0]) * [1, 1, 0, 0]
    )
    assert not stable
    assert release_large(cone, squeeze, squeeze).radial == pytest.approx(0.01 * cone.stations.r, rel=1e-6)


def test_no_stable_shape_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    shell = bell()
    monkeypatch.setattr(large_rotations, "MOST_STEPS", 1)
    with pytest.raises(ArithmeticError, match="release: found no stable shape in 1 steps"):
        release_large(shell, n_theta=np.full(shell.stations.s.size, -50.0))
