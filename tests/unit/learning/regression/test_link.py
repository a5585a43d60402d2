"""How a batch's own unknowns act on its columns: derivatives against differences, and the bound of a multiplier."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.learning.basis.stress_fields import FIELDS, LAID, LAID_CHANGES
from springfit.learning.regression.link import (
    ALONG,
    DEPARTURES,
    FREE_LINK,
    HOOP,
    LAID_LINK,
    LARGEST_LOG,
    MULTIPLIERS,
    OWN,
    TOLD,
    Link,
)

LINKS = {"free": FREE_LINK, "laid": LAID_LINK}
STEP = 1e-6  # of a central difference: its error is about STEP^2 of the third derivative, and 1e-16 / STEP of rounding
CLOSE = 1e-8
NAMES = [field.name for field in FIELDS]


def drawn(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Coefficients, what is told and own unknowns of a batch, some so large that the multiplier is bent."""
    rng = np.random.default_rng(seed)
    return rng.normal(size=len(FIELDS)), rng.normal(size=TOLD), rng.normal(size=OWN)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("link", LINKS.values(), ids=LINKS)
def test_derivatives_are_those_of_differences(link: Link, seed: int) -> None:
    beta, told, u = drawn(seed)
    at = link.at(beta, told, u)
    for place, one in enumerate(STEP * np.eye(TOLD)):
        by_told = (link.at(beta, told + one, u).k - link.at(beta, told - one, u).k) / (2 * STEP)
        assert np.abs(at.by_told[:, place] - by_told).max() < CLOSE * np.abs(at.k).max(), place
    for place, one in enumerate(STEP * np.eye(OWN)):
        own = (link.at(beta, told, u + one).k - link.at(beta, told, u - one).k) / (2 * STEP)
        assert np.abs(at.own[:, place] - own).max() < CLOSE * np.abs(at.k).max(), place
    # Columns do not mix, so that all of beta may move at once.
    scale = (link.at(beta + STEP, told, u).k - link.at(beta - STEP, told, u).k) / (2 * STEP)
    assert np.abs(at.scale - scale).max() < CLOSE * np.abs(at.scale).max()
    assert np.abs(at.by_told).max(axis=0).min() > 0.1 and np.abs(at.own).max(axis=0).min() > 0.1


@pytest.mark.parametrize("link", LINKS.values(), ids=LINKS)
def test_a_batch_of_nothing_of_its_own_is_the_shop(link: Link) -> None:
    beta, *_ = drawn(1)
    assert np.array_equal(link.at(beta, np.zeros(TOLD), np.zeros(OWN)).k, beta)


def test_a_free_batch_is_a_size_of_the_same_fields() -> None:
    beta, told, u = drawn(2)
    small = 1e-3  # the bound takes about x^3 / (3 LARGEST_LOG^2) off the logarithm x of a multiplier
    sizes = np.r_[small * told[0], np.zeros(TOLD - 1)], np.r_[small * u[:MULTIPLIERS], np.zeros(OWN - MULTIPLIERS)]
    k = FREE_LINK.at(beta, *sizes).k
    shares = np.exp(small * (told[0] + np.where(HOOP > 0, u[0], u[1])))
    assert k == pytest.approx(beta * shares, rel=1e-8)
    assert np.array_equal(HOOP + ALONG, np.ones(len(FIELDS)))


def test_a_laid_batch_has_its_own_departures_and_leaves_free_fields_to_the_shop() -> None:
    beta, told, u = drawn(3)
    k = LAID_LINK.at(beta, told, u).k
    multiplier = np.exp(LARGEST_LOG * np.tanh((told[0] + u[0]) / LARGEST_LOG))
    expected = beta + DEPARTURES @ told[1:]
    expected[LAID] *= multiplier
    for change, departure in zip(LAID_CHANGES, u[MULTIPLIERS:], strict=False):
        expected[NAMES.index(f"laid_{change}")] += departure  # whatever the size of the batch
    changes = len(LAID_CHANGES)
    expected += DEPARTURES[:, changes:] @ u[MULTIPLIERS + changes :]
    for place, field in enumerate(FIELDS):
        if field.share == "hoop" and field.place >= 0:
            expected[place] += u[1]
    assert k == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("link", LINKS.values(), ids=LINKS)
def test_no_multiplier_passes_its_bound(link: Link) -> None:
    beta, *_ = drawn(4)
    for far in (-500.0, 500.0):
        scale = link.at(beta, far * np.eye(TOLD)[0], np.zeros(OWN)).scale
        assert np.abs(np.log(scale)).max() == pytest.approx(LARGEST_LOG)
