"""Speed of the shell as ratios measured in one run: against bare LAPACK, and against the 2-D solid. pytest -m
benchmark.
"""

from __future__ import annotations

from collections.abc import Callable
from time import process_time

import numpy as np
import pytest
from scipy.linalg import cho_solve_banded, cholesky_banded

from springfit.mechanics.shell.large_rotations import columns_about
from springfit.mechanics.shell.release import ShellOfRevolution
from tests.helpers.shells.axisymmetric_solid import Line, Solid
from tests.helpers.shells.bell_lines import MODULUS, bessel
from tests.helpers.shells.large_release import release_large

pytestmark = pytest.mark.benchmark

TIMES_BARE_LAPACK = 5.0
TIMES_LINEAR = 12.0  # 3 or 4 Newton steps, each about an assembly and a factor of the linear shell, and its strains
SOLID_OVER_SHELL = 50.0
FIELDS = 40
EQUAL_ACCURACY = 1e-4  # of the largest rim displacement, against each method's own fine mesh


def seconds(work: Callable[[], object], repeats: int = 9) -> float:
    """Processor time, best of several runs: the machine's other work would stretch the clock, the longer run
    more.
    """
    times = []
    for _ in range(repeats):
        start = process_time()
        work()
        times.append(process_time() - start)
    return min(times)


def shell_of(line: Line, wall: float, poisson: float, nodes: int, fineness: float) -> ShellOfRevolution:
    s = np.linspace(0, line.s[-1], nodes)
    return ShellOfRevolution(
        s, line.z(s), line.r(s), line.slope(s),
        wall=wall, youngs_modulus=MODULUS, poisson_ratio=poisson, fineness=fineness,
    )  # fmt: skip


def test_forty_fields_on_a_thousand_nodes_against_bare_lapack() -> None:
    line, wall, poisson = bessel()
    fields = np.random.default_rng(0).normal(size=(4, 1000, FIELDS))
    # Of the same size, bandwidth and definiteness; LAPACK's work does not look at the values.
    band = np.zeros((8, 4000))
    band[0], band[1:] = 10.0, 0.1
    load = np.random.default_rng(1).normal(size=(4000, FIELDS))
    bare = seconds(lambda: cho_solve_banded((cholesky_banded(band, lower=True), True), load))
    s = np.linspace(0, line.s[-1], 1000)
    meridian = s, line.z(s), line.r(s), line.slope(s)
    metal = {"wall": wall, "youngs_modulus": MODULUS, "poisson_ratio": poisson, "fineness": 1e6}
    ours = seconds(lambda: ShellOfRevolution(*meridian, **metal).release(*fields))
    print(
        f"\nfactor and release {1e3 * ours:.1f} ms, bare LAPACK {1e3 * bare:.1f} ms, ratio {ours / bare:.2f}"
    )
    assert ours < TIMES_BARE_LAPACK * bare


def test_forty_fields_against_the_solid_at_equal_accuracy() -> None:
    """Each on the coarsest mesh that brings the rim within EQUAL_ACCURACY of its own fine mesh.

    Fields: all four resultants linear in the arc, with random coefficients, so that both methods carry them
    exactly.
    """
    line, wall, poisson = bessel()
    length = line.s[-1]
    ends = np.random.default_rng(5).uniform(-1, 1, (FIELDS, 4, 2)) * np.array([40, 40, 2, 2])[:, None]

    def by_shell(nodes: int) -> np.ndarray:
        shell = shell_of(line, wall, poisson, nodes, 1e6)
        x = shell.stations.s / length
        fields = np.multiply.outer(1 - x, ends[..., 0]) + np.multiply.outer(x, ends[..., 1])
        return shell.release(*fields.transpose(2, 0, 1)).axial[-1]

    def by_solid(along: int, fields: int) -> np.ndarray:
        solid = Solid(line, t=wall, modulus=MODULUS, poisson=poisson, along=along)
        rim = np.array([length])
        linear = [[lambda a, e=e: e[0] + (e[1] - e[0]) * a / length for e in four] for four in ends[:fields]]
        return np.array([solid.release(*four, at=rim)[0][0] for four in linear])

    fine_shell, fine_solid = by_shell(2000), by_solid(400, 4)
    nodes = next(n for n in (20, 30, 40, 60, 80, 120, 160) if _same(by_shell(n), fine_shell))
    along = next(n for n in (15, 20, 30, 40, 60, 80, 120, 160, 240) if _same(by_solid(n, 4), fine_solid))
    shell_time = seconds(lambda: by_shell(nodes))
    solid_time = seconds(lambda: by_solid(along, FIELDS), repeats=3)
    ratio = solid_time / shell_time
    sizes = f"shell {nodes} nodes {1e3 * shell_time:.2f} ms, solid {along} long {1e3 * solid_time:.1f} ms"
    print(f"\n{sizes}, ratio {ratio:.0f}")
    assert ratio > SOLID_OVER_SHELL


def _same(values: np.ndarray, fine: np.ndarray) -> bool:
    """Within the accuracy, of the largest of the first fields both have."""
    count = min(values.size, fine.size)
    error = np.abs(values[:count] - fine[:count]).max()
    return bool(error < EQUAL_ACCURACY * np.abs(fine[:count]).max())


def test_large_rotations_cost_a_few_linear_releases() -> None:
    """One state on 400 stations, and four columns about half of it: 13 to 27 ms each where this was written."""
    line, wall, poisson = bessel()
    shell = shell_of(line, wall, poisson, 400, 0.4)
    x = shell.stations.s / line.s[-1]
    state = (20 * x**2, -40 * x**3, 4 * x, 1.5 * x)
    columns = [np.outer(part, np.eye(4)[i]) for i, part in enumerate(state)]
    half = tuple(part / 2 for part in state)
    linear = seconds(lambda: shell_of(line, wall, poisson, 400, 0.4).release(*columns))
    large = seconds(lambda: release_large(shell, *state))
    about = seconds(lambda: columns_about(shell, half, *columns))
    print(f"\nlinear {1e3 * linear:.1f} ms, large {1e3 * large:.1f} ms, columns about half {1e3 * about:.1f} ms")
    assert max(large, about) < TIMES_LINEAR * linear
