"""Identities that hold on any profile, wall and material: tried on random ones.

I1 equal membrane resultants make the free shell grow like its own shape. I2 equal moments act as opposite
moments on the two edges. I3 Betti's reciprocity. I4 superposition. None is exact by construction except I4
and rigid motion.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from springfit.mechanics.shell.release import ShellOfRevolution
from tests.helpers.shells.large_release import release_large
from tests.helpers.shells.shell_under_load import loaded, resultants_left, rotation

ROUND_OFF = 1e-6  # of the largest value; the stiffest shells lose ten digits in the factor
few = settings(max_examples=25, deadline=None)


@st.composite
def shells(draw: st.DrawFn, tail: str = "axial") -> ShellOfRevolution:
    """Bells, barrels and reversing flares 40-400 mm long, tail radius 5-40 mm, wall 0.3-0.8 mm, even or
    varying.
    """
    length = draw(st.floats(40, 400))
    waves = draw(st.lists(st.floats(-0.25, 0.25), min_size=3, max_size=3))
    start, end = draw(st.floats(0, 0.3)), draw(st.floats(0.1, 1.5))
    sharpness = draw(st.floats(1, 5))
    x = np.linspace(0, 1, 4001)
    slope = start + (end - start) * x**sharpness
    slope += sum(w * (1 - x) * np.sin((k + 1) * np.pi * x) for k, w in enumerate(waves))
    step = length / 4000
    z, r = (
        np.concatenate([[0], np.cumsum((f[1:] + f[:-1]) / 2 * step)]) for f in (np.cos(slope), np.sin(slope))
    )
    r += draw(st.floats(5, 40)) - min(r.min(), 0)
    keep = slice(None, None, 4000 // draw(st.sampled_from([100, 200, 400])))
    wall = draw(st.floats(0.3, 0.8)) * (1 + draw(st.floats(-0.2, 0.2)) * x)
    return ShellOfRevolution(
        length * x[keep], z[keep], r[keep], slope[keep], wall=wall[keep],
        youngs_modulus=draw(st.floats(9e4, 2.1e5)), poisson_ratio=draw(st.floats(0.0, 0.45)), tail=tail,
    )  # fmt: skip


def close(
    found: np.ndarray, expected: np.ndarray, *, to: float = ROUND_OFF, size: float | None = None
) -> None:
    scale = size or np.abs(expected).max()
    assert np.abs(found - expected).max() <= to * scale


@few
@given(shells())
def test_i1_equal_membrane_forces_shrink_the_shape(shell: ShellOfRevolution) -> None:
    """n_s = n_theta = n proportional to the wall is one strain -n (1 - nu)/(E t) both ways."""
    strain = -1e-3
    force = -strain * shell.youngs_modulus * shell.stations.wall / (1 - shell.poisson_ratio)
    moved = shell.release(force, force)
    close(moved.radial, strain * shell.stations.r, to=1e-5)
    close(
        moved.axial,
        strain * (shell.stations.z - shell.stations.z[0]),
        to=1e-5,
        size=strain * -np.ptp(shell.stations.z),
    )
    left = resultants_left(shell, force, force)
    assert max(np.abs(left.n_s).max(), np.abs(left.n_theta).max()) < 1e-3 * force.max()


@few
@given(shells(tail="clamped"), st.floats(0.1, 5))
def test_i2_equal_moments_are_an_edge_moment(shell: ShellOfRevolution, moment: float) -> None:
    one = np.ones_like(shell.stations.s)
    rim = np.zeros_like(one)
    rim[-1] = moment  # adds to the slope, which is -moment by the sign of M_s
    released = shell.release(m_s=moment * one, m_theta=moment * one)
    pushed, _ = loaded(shell, ring_moment=rim)
    close(released.radial, pushed.radial, to=1e-5, size=np.abs(pushed.normal).max())
    close(released.axial, pushed.axial, to=1e-5, size=np.abs(pushed.normal).max())


@few
@given(shells(), st.floats(0, 1), st.floats(0, 1))
def test_i3_betti(shell: ShellOfRevolution, first: float, second: float) -> None:
    """Radial motion at one station from a moment at another is the rotation there from a force here, per
    turn.
    """
    count = shell.stations.s.size
    i, j = round(first * (count - 1)), round(second * (count - 1))
    force, moment = np.zeros(count), np.zeros(count)
    force[i], moment[j] = 1 / shell.stations.r[i], 1 / shell.stations.r[j]
    by_force, _ = loaded(shell, ring_radial=force)
    by_moment, _ = loaded(shell, ring_moment=moment)
    close(by_moment.radial[i], rotation(by_force)[j], size=np.abs(rotation(by_force)).max())


@few
@given(shells(), st.integers(0, 2**31))
def test_i4_superposition_and_many_fields_at_once(shell: ShellOfRevolution, seed: int) -> None:
    rng = np.random.default_rng(seed)
    fields = rng.normal(size=(4, shell.stations.s.size, 3))
    fields[..., 2] = 2 * fields[..., 0] - 3 * fields[..., 1]
    together = shell.release(*fields)
    assert together.normal.shape == (shell.stations.s.size, 3)
    close(together.normal[:, 2], 2 * together.normal[:, 0] - 3 * together.normal[:, 1])
    alone = shell.release(*fields[..., 1])
    close(rotation(alone), rotation(together)[:, 1])


@few
@given(shells())
def test_tail_is_registered_and_the_frame_is_right(shell: ShellOfRevolution) -> None:
    one = np.ones_like(shell.stations.s)
    moved = shell.release(n_theta=-one, m_s=one)
    assert moved.axial[0] == 0
    c, s = np.cos(shell.stations.slope), np.sin(shell.stations.slope)
    close(moved.normal, c * moved.radial - s * moved.axial)


@few
@given(shells())
def test_finer_mesh_and_added_stations_change_nothing_seen(shell: ShellOfRevolution) -> None:
    stations = shell.stations
    x = stations.s / stations.s[-1]
    fields = (40 * x**2, -60 * x**3, np.cos(7 * x), 0.3 * np.cos(7 * x))
    finer = ShellOfRevolution(
        stations.s, stations.z, stations.r, stations.slope, wall=stations.wall,
        youngs_modulus=shell.youngs_modulus, poisson_ratio=shell.poisson_ratio, fineness=0.1,
    )  # fmt: skip
    close(shell.release(*fields).normal, finer.release(*fields).normal, to=1e-3)


@few
@given(shells(), st.integers(0, 2**31))
def test_small_stress_releases_the_same_with_large_rotations(shell: ShellOfRevolution, seed: int) -> None:
    rng = np.random.default_rng(seed)
    x = shell.stations.s / shell.stations.s[-1]
    fields = 1e-5 * np.stack([a * np.cos(b * x) for a, b in rng.uniform(-9, 9, (4, 2))])
    linear, full = shell.release(*fields), release_large(shell, *fields)
    close(full.normal, linear.normal, to=1e-4)
    close(full.axial, linear.axial, to=1e-4)


@few
@given(shells(), st.floats(0.1, 2.0))
def test_growing_like_its_shape_is_exact_with_large_rotations_too(
    shell: ShellOfRevolution, percent: float
) -> None:
    """I1 again: a similar shape turns nothing, so the locked strain is met without residue at any size."""
    strain = percent / 100
    force = -strain * shell.youngs_modulus * shell.stations.wall / (1 - shell.poisson_ratio)
    moved = release_large(shell, force, force)
    assert moved.radial == pytest.approx(strain * shell.stations.r, rel=3e-4)
