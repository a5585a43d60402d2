"""Speed of the shell as ratios measured in one run: against bare LAPACK, and against the 2-D solid. pytest -m
benchmark.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

import numpy as np
import pytest
from scipy.linalg import cho_solve_banded, cholesky_banded

from springfit.mechanics.shell import ShellOfRevolution

sys.path.append(str(Path(__file__).parents[1] / "reference"))
from axisymmetric_solid import Line, Solid
from test_axisymmetric_solid import MODULUS, bessel

pytestmark = pytest.mark.benchmark

TIMES_BARE_LAPACK = 5.0
SOLID_OVER_SHELL = 50.0
FIELDS = 40
EQUAL_ACCURACY = 1e-3  # of the largest displacement, against each method's own fine mesh


def seconds(work: Callable[[], object], repeats: int = 9) -> float:
    """Best of several runs: the machine's other work can only add."""
    times = []
    for _ in range(repeats):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
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
    """Both on the coarsest mesh that brings the rim within a permille of their own fine mesh; forty hoop
    fields.
    """
    line, wall, poisson = bessel()
    length, zero = line.s[-1], np.zeros_like
    hoops = [lambda a, k=k: -75 * (a / length) ** (2 + k / 5) for k in range(FIELDS)]

    def by_shell(nodes: int, fineness: float) -> np.ndarray:
        shell = shell_of(line, wall, poisson, nodes, fineness)
        return shell.release(n_theta=np.stack([hoop(shell.stations.s) for hoop in hoops], axis=1)).axial[-1]

    def by_solid(along: int, fields: int) -> np.ndarray:
        solid = Solid(line, t=wall, modulus=MODULUS, poisson=poisson, along=along)
        rim = np.array([length])
        return np.array([solid.release(zero, hoop, zero, zero, at=rim)[0][0] for hoop in hoops[:fields]])

    fine_shell, fine_solid = by_shell(2000, 0.1), by_solid(400, 2)
    nodes = next(n for n in (20, 30, 40, 60, 80, 120, 160) if _same(by_shell(n, 1e6), fine_shell))
    along = next(n for n in (10, 15, 20, 30, 40, 60, 80, 120, 160, 240) if _same(by_solid(n, 2), fine_solid))
    shell_time = seconds(lambda: by_shell(nodes, 1e6))
    solid_time = seconds(lambda: by_solid(along, FIELDS), repeats=3)
    ratio = solid_time / shell_time
    print(f"\nshell {nodes} nodes {1e3 * shell_time:.2f} ms, solid {1e3 * solid_time:.1f} ms: {ratio:.0f}")
    assert ratio > SOLID_OVER_SHELL


def _same(values: np.ndarray, fine: np.ndarray) -> bool:
    return bool((np.abs(values - fine) < EQUAL_ACCURACY * np.abs(fine)).all())
