"""The derivatives of the large-rotation strains against differences, and their tangent against the linear
shell.
"""

from __future__ import annotations

import numpy as np
import pytest

from springfit.mechanics.shell import ShellOfRevolution
from springfit.mechanics.shell_nonlinear import _Problem, _strains, _to_derivatives, release_nonlinear


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
    strain, gradient, second = _strains(elements, place)
    for i in range(5):
        step = np.zeros(5)
        step[i] = 1e-6
        plus, minus = _strains(elements, place + step), _strains(elements, place - step)
        assert (plus[0] - minus[0]) / 2e-6 == pytest.approx(gradient[..., i], abs=1e-7)
        assert (plus[1] - minus[1]) / 2e-6 == pytest.approx(second[..., i], abs=1e-7)
    assert strain.shape == (*elements.radius.shape, 4)


def test_at_rest_the_gradient_is_the_linear_strain() -> None:
    elements = bell().elements
    strain, gradient, _ = _strains(elements, np.zeros((*elements.radius.shape, 5)))
    assert np.abs(strain).max() < 1e-14
    assert gradient @ _to_derivatives(elements) == pytest.approx(elements.strain_matrix(), abs=1e-12)


def test_newton_converges_quadratically() -> None:
    """Steps of the full release: each is of the order of the last one squared, so six suffice from rest."""
    shell = bell()
    problem = _Problem(shell)
    force = np.zeros((4, shell.stations.s.size))
    force[1] = -80 * (shell.stations.s / 100) ** 6
    at_nodes = shell.mesh.to_nodes(force.T)
    locked = np.einsum("ap,aek->epk", problem.ends, np.stack([at_nodes[:-1], at_nodes[1:]]))
    unknowns, sizes = np.zeros((shell.mesh.node_count, 4)), []
    for _ in range(6):
        step = problem._newton_step(unknowns, locked)
        unknowns = unknowns + step
        sizes.append(np.abs(step).max())
    assert sizes[0] > 0.1
    rates = [np.log(sizes[k + 1] / sizes[k]) for k in range(4) if sizes[k + 1] > 1e-11]
    assert sizes[-1] < 1e-9
    assert rates[2] < 1.6 * rates[1] or rates[1] < 1.6 * rates[0]  # logs at least nearly double


def test_snapping_is_refused_in_words() -> None:
    shell = bell()
    huge = np.full(shell.stations.s.size, -4e4)
    with pytest.raises(ArithmeticError, match="release: found no stable shape"):
        release_nonlinear(shell, 10 * huge, -huge)
