"""How a batch's own unknowns act on its columns: derivatives against differences, and the bound of a multiplier."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.learning.basis.stress_fields import FIELDS, LAID, LAID_CHANGES
from springfit.learning.regression.link import (
    ALONG,
    FREE_LINK,
    HOOP,
    LAID_LINK,
    LARGEST_LOG,
    MULTIPLIERS,
    OWN,
    SHAPES,
    Link,
)

LINKS = {"free": FREE_LINK, "laid": LAID_LINK}
STEP = 1e-6  # of a central difference: its error is about STEP^2 of the third derivative, and 1e-16 / STEP of rounding
CLOSE = 1e-8
NAMES = [field.name for field in FIELDS]


def drawn(seed: int) -> tuple[np.ndarray, float, np.ndarray]:
    """Coefficients, log multiplier and own unknowns of a batch, some so large that the multiplier is bent."""
    rng = np.random.default_rng(seed)
    return rng.normal(size=len(FIELDS)), float(rng.normal()), rng.normal(size=OWN)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("link", LINKS.values(), ids=LINKS)
def test_derivatives_are_those_of_differences(link: Link, seed: int) -> None:
    beta, eta, u = drawn(seed)
    told = link.at(beta, eta, u)
    by_eta = (link.at(beta, eta + STEP, u).k - link.at(beta, eta - STEP, u).k) / (2 * STEP)
    assert np.abs(told.by_eta - by_eta).max() < CLOSE * np.abs(told.k).max()
    for place, one in enumerate(STEP * np.eye(OWN)):
        own = (link.at(beta, eta, u + one).k - link.at(beta, eta, u - one).k) / (2 * STEP)
        assert np.abs(told.own[:, place] - own).max() < CLOSE * np.abs(told.k).max(), place
    # Columns do not mix, so that all of beta may move at once.
    scale = (link.at(beta + STEP, eta, u).k - link.at(beta - STEP, eta, u).k) / (2 * STEP)
    assert np.abs(told.scale - scale).max() < CLOSE * np.abs(told.scale).max()
    assert np.abs(told.by_eta).max() > 0.1 and np.abs(told.own).max(axis=0).min() > 0.1


@pytest.mark.parametrize("link", LINKS.values(), ids=LINKS)
def test_a_batch_of_nothing_of_its_own_is_the_shop(link: Link) -> None:
    beta, *_ = drawn(1)
    assert np.array_equal(link.at(beta, 0.0, np.zeros(OWN)).k, beta)


def test_a_free_batch_is_a_size_of_the_same_fields() -> None:
    beta, eta, u = drawn(2)
    small = 1e-3  # the bound takes about x^3 / (3 LARGEST_LOG^2) off the logarithm x of a multiplier
    k = FREE_LINK.at(beta, small * eta, np.r_[small * u[:MULTIPLIERS], np.zeros(OWN - MULTIPLIERS)]).k
    shares = np.exp(small * (eta + np.where(HOOP > 0, u[0], u[1])))
    assert k == pytest.approx(beta * shares, rel=1e-8)
    assert np.array_equal(HOOP + ALONG, np.ones(len(FIELDS)))


def test_a_laid_batch_has_its_own_departures_and_leaves_free_fields_to_the_shop() -> None:
    beta, eta, u = drawn(3)
    k = LAID_LINK.at(beta, eta, u).k
    multiplier = np.exp(LARGEST_LOG * np.tanh((eta + u[0]) / LARGEST_LOG))
    expected = beta.copy()
    for change, departure in zip(LAID_CHANGES, u[MULTIPLIERS : MULTIPLIERS + len(LAID_CHANGES)], strict=True):
        expected[NAMES.index(f"laid_{change}")] += departure
    expected += SHAPES @ u[MULTIPLIERS + len(LAID_CHANGES) :]
    expected[LAID] *= multiplier
    for place, field in enumerate(FIELDS):
        if field.share == "hoop" and field.place >= 0:
            expected[place] += u[1]
    assert k == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("link", LINKS.values(), ids=LINKS)
def test_no_multiplier_passes_its_bound(link: Link) -> None:
    beta, *_ = drawn(4)
    for far in (-500.0, 500.0):
        scale = link.at(beta, far, np.zeros(OWN)).scale
        assert np.abs(np.log(scale)).max() == pytest.approx(LARGEST_LOG)
