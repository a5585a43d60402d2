"""The derivatives of the large-rotation strains against differences, and their tangent against the linear
shell.
"""

from __future__ import annotations

import numpy as np
import pytest

from springfit.mechanics.shell.release import large_rotations as shell_nonlinear
from springfit.mechanics.shell.large_rotations import Problem, release_nonlinear
from springfit.mechanics.shell.release import ShellOfRevolution
from springfit.mechanics.shell.rotations import strains, to_derivatives


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
    strain, gradient, second = strains(elements, place)
    for i in range(5):
        step = np.zeros(5)
        step[i] = 1e-6
        plus, minus = strains(elements, place + step), strains(elements, place - step)
        assert (plus[0] - minus[0]) / 2e-6 == pytest.approx(gradient[..., i], abs=1e-7)
        assert (plus[1] - minus[1]) / 2e-6 == pytest.approx(second[..., i], abs=1e-7)
    assert strain.shape == (*elements.radius.shape, 4)


def test_at_rest_the_gradient_is_the_linear_strain() -> None:
    elements = bell().elements
    strain, gradient, _ = strains(elements, np.zeros((*elements.radius.shape, 5)))
    assert np.abs(strain).max() < 1e-14
    assert gradient @ to_derivatives(elements) == pytest.approx(elements.strain_matrix(), abs=1e-12)


def test_newton_converges_quadratically() -> None:
    """Steps of the full release: each is of the order of the last one squared, so six suffice from rest."""
    shell = bell()
    problem = Problem(shell)
    force = np.zeros((4, shell.stations.s.size))
    force[1] = -80 * (shell.stations.s / 100) ** 6
    at_nodes = shell.mesh.to_nodes(force.T)
    locked = np.einsum("ap,aek->epk", problem.ends, np.stack([at_nodes[:-1], at_nodes[1:]]))
    unknowns, sizes = np.zeros((shell.mesh.node_count, 4)), []
    for _ in range(6):
        step, stable = problem.step(unknowns, locked)
        assert stable
        unknowns = unknowns + step
        sizes.append(np.abs(step).max())
    assert sizes[0] > 0.1
    rates = [np.log(sizes[k + 1] / sizes[k]) for k in range(4) if sizes[k + 1] > 1e-11]
    assert sizes[-1] < 1e-9
    assert rates[2] < 1.6 * rates[1] or rates[1] < 1.6 * rates[0]  # logs at least nearly double


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
    _, stable = Problem(cone).step(
        np.zeros((cone.mesh.node_count, 4)), np.full((1, 1, 4), squeeze[0]) * [1, 1, 0, 0]
    )
    assert not stable
    assert release_nonlinear(cone, squeeze, squeeze).radial == pytest.approx(0.01 * cone.stations.r, rel=1e-6)


def test_no_stable_shape_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    shell = bell()
    monkeypatch.setattr(shell_nonlinear, "MOST_STEPS", 1)
    with pytest.raises(ArithmeticError, match="release: found no stable shape in 1 steps"):
        release_nonlinear(shell, n_theta=np.full(shell.stations.s.size, -50.0))
