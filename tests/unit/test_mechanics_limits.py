"""Bounds on locked-in stress, on what its release can do, and on facets that wash out."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.mechanics.shell.influence import normal_influence
from springfit.mechanics.shell.limits import (
    Shares,
    decay_length,
    elastic_envelope,
    facet_dead_band,
    share_envelope,
)
from springfit.mechanics.shell.release import ShellOfRevolution

MODULUS, POISSON, WALL, FLOW = 110_000.0, 0.33, 0.5, 150.0


@pytest.fixture(scope="module")
def bell() -> ShellOfRevolution:
    """An invented flare: slope 3 to 80 degrees over 140 mm of arc, tail radius 9 mm."""
    s = np.linspace(0, 140, 281)
    slope = np.radians(3 + 77 * (s / s[-1]) ** 4)
    z, r = (
        np.concatenate([[0], np.cumsum((f[1:] + f[:-1]) / 2 * np.diff(s))])
        for f in (np.cos(slope), np.sin(slope))
    )
    return ShellOfRevolution(s, z, 9 + r, slope, wall=WALL, youngs_modulus=MODULUS, poisson_ratio=POISSON)


def test_decay_length_is_the_cylinders_and_stays_finite_on_a_flat_flare() -> None:
    assert decay_length(60.0, 0.0, wall=0.5, poisson_ratio=0.33) == pytest.approx(4.283499, rel=1e-6)
    flat = decay_length(60.0, np.pi / 2, wall=0.5, poisson_ratio=0.33)
    assert flat == pytest.approx(60 / (3 * (1 - 0.33**2)) ** 0.25)


def test_shares_are_bounded_by_the_ellipse_and_the_plastic_moment() -> None:
    edge = 2 / np.sqrt(3)
    assert Shares(edge, -edge / 2, 0).excess() == pytest.approx(1)  # the ellipse's end: s = h/2
    assert Shares(1, -1, 0).excess() == pytest.approx(1)  # equal tension both ways
    assert Shares(1, 1, 0).excess() == pytest.approx(np.sqrt(3))  # pure shear yields at 1/sqrt 3
    assert Shares(0, 0, edge).excess() == pytest.approx(1)
    assert Shares(0, edge / 2, edge).excess() == pytest.approx(4 / 3)  # a force takes a quarter of the moment


def test_every_layered_stress_within_yield_passes_as_allowed() -> None:
    """Random stresses of twelve layers inside the ellipse: their shares are never called impossible."""
    rng = np.random.default_rng(3)
    layers, weights = np.polynomial.legendre.leggauss(12)
    angle = rng.uniform(0, 2 * np.pi, (4000, 1)) + rng.choice([0.0, np.pi], (4000, 12)) * rng.integers(
        0, 2, (4000, 1)
    )
    # The ellipse of radius sigma in its own axes: s + h and s - h.
    total, difference = 2 * np.cos(angle), 2 / np.sqrt(3) * np.sin(angle)
    s, h = (total + difference) / 2, (total - difference) / 2
    assert np.allclose(s * s - s * h + h * h, 1)
    hoop, meridional = -(h @ weights) / 2, (s @ weights) / 2
    moment = (s @ (weights * layers / 4)) / (1 / 4)
    assert (
        Shares(hoop, meridional, moment).excess().max() <= 1 + 1e-3
    )  # twelve points integrate sign changes to 1e-3


def test_no_hoop_or_meridional_stress_passes_the_envelope(bell: ShellOfRevolution) -> None:
    bound = elastic_envelope(bell, FLOW)
    rng = np.random.default_rng(1)
    count = bell.stations.s.size
    for _ in range(20):
        knots = rng.uniform(-1, 1, (2, int(rng.integers(3, 30))))
        angle, size = (np.interp(np.linspace(0, 1, count), np.linspace(0, 1, k.size), k) for k in knots)
        total, difference = 2 * np.cos(9 * angle), 2 / np.sqrt(3) * np.sin(9 * angle)
        force = FLOW * WALL * size * np.stack([total + difference, total - difference]) / 2
        assert (np.abs(bell.release(force[0], force[1]).normal) <= bound + 1e-12).all()


def test_the_envelope_is_attained(bell: ShellOfRevolution) -> None:
    """Membrane stress on the ellipse in the direction of the influence reaches most of the bound at the
    rim.
    """
    rim = np.array([bell.stations.s.size - 1])
    influence = normal_influence(bell, rim)
    a, b = influence.strain[:, 0, 0], influence.strain[:, 1, 0]
    norm = np.sqrt(a * a + a * b + b * b)
    s, h = (-2 / np.sqrt(3) * FLOW * (x + y / 2) / norm for x, y in ((a, b), (b, a)))
    assert np.allclose(s * s - s * h + h * h, FLOW**2)
    reached = -(influence.weight * WALL * (a * s + b * h)).sum()
    bound = elastic_envelope(bell, FLOW, at=rim)[0]
    assert 0.3 * bound < reached <= bound


def test_range_of_shares_agrees_with_the_release_by_betti(bell: ShellOfRevolution) -> None:
    """With each share in [0, 1] the ends of the range are the negative and positive parts of the full
    release.
    """
    one = np.ones(bell.stations.s.size)
    force, moment = FLOW * WALL * one, FLOW * WALL**2 / 4 * one
    full = bell.release(n_theta=-force).normal, bell.release(n_s=force).normal
    bent = bell.release(m_s=moment, m_theta=POISSON * moment).normal
    names = ("hoop", "meridional", "moment")
    for name, expected in zip(names, (*full, bent), strict=True):
        ranges = {other: (0.0, 1.0 if other == name else 0.0) for other in names}
        low, high = share_envelope(bell, FLOW, **ranges)
        assert (low <= 0).all() and (high >= 0).all()
        assert low + high == pytest.approx(expected, abs=1e-9)


def test_throat_is_held_far_tighter_than_rim(bell: ShellOfRevolution) -> None:
    """A throat 0.4 mm over is beyond any stress; the rim's usual 0.2-0.7 mm is not."""
    bound = elastic_envelope(bell, FLOW)
    assert bound[20] < 0.05
    assert bound[-1] > 0.3


def test_envelope_scales_with_flow_stress_and_names_a_bad_one(bell: ShellOfRevolution) -> None:
    at = np.array([100, 200])
    assert elastic_envelope(bell, 300.0, at=at) == pytest.approx(2 * elastic_envelope(bell, 150.0, at=at))
    with pytest.raises(ValueError, match="flow_stress: found -1"):
        elastic_envelope(bell, -1.0)


def test_facet_dead_band_is_the_smaller_of_hoop_and_bending() -> None:
    shared = {"flow_stress": FLOW, "youngs_modulus": MODULUS, "wall": WALL}
    assert facet_dead_band(40.0, 0.0, length=38.0, **shared) == pytest.approx(FLOW * 40 / MODULUS)
    assert facet_dead_band(40.0, 0.0, length=6.0, **shared) == pytest.approx(FLOW / MODULUS * 36 / 2)
