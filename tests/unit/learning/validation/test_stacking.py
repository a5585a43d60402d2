"""Weights of structures by what was left out: a worked example, the prior, and the widening of bands."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from springfit.learning.validation.stacking import NARROWEST, PSEUDO, LeftOutErrors, stacked, weighings

# Two models at three left-out points, and the weight that makes the sum of log scores largest: from
# 2 (.3 / (.1 + .3 w)) = .3 / (.4 - .3 w). Densities in the manner of Yao et al. 2018, Bayesian Analysis 13, 917-1007.
DENSITIES = np.array([[0.4, 0.1], [0.4, 0.1], [0.1, 0.4]])
WEIGHT = 7.0 / 9.0
STEP = 1.05  # ratio of neighbouring widenings that are tried: e^(ln 16 / 59) = 1.048
SAID = 0.02  # [mm] sd that a structure states of itself


def planted(batches: int, factor: float, *, noise: float = 0.0, stations: int = 6) -> np.ndarray:
    """Errors (batches, stations) [mm] whose mean square is (factor SAID)^2 + noise^2 in every batch."""
    signs = np.where(np.arange(stations) % 2 == 0, 1.0, -1.0)
    return np.sqrt((factor * SAID) ** 2 + noise**2) * np.tile(signs, (batches, 1))


def left_out(*structures: np.ndarray, noise: float = 0.0) -> LeftOutErrors:
    """Structures with these errors (batches, stations) that all say SAID of themselves."""
    errors = np.stack(structures, axis=1)
    return LeftOutErrors([(error, np.full_like(error, SAID**2), np.full(error.shape[1], noise**2)) for error in errors])


def weighed(*structures: np.ndarray, noise: float = 0.0) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Weights and widening of the same."""
    (found,) = weighings(left_out(*structures, noise=noise))
    return found.weights, found.wider


def test_the_weights_of_two_models_at_three_points() -> None:
    assert stacked(np.log(DENSITIES), pseudo=0.0) == pytest.approx([WEIGHT, 1 - WEIGHT], abs=1e-5)


def test_the_prior_holds_the_weights_towards_equal() -> None:
    for pseudo in (0.5, 1.0, 20.0):

        def rising(w: float, pseudo: float = pseudo) -> float:
            return 2 * 0.3 / (0.1 + 0.3 * w) - 0.3 / (0.4 - 0.3 * w) + pseudo * (1 / w - 1 / (1 - w))

        expected = brentq(rising, 1e-6, 1 - 1e-6)
        assert stacked(np.log(DENSITIES), pseudo=pseudo)[0] == pytest.approx(expected, abs=1e-5)
        assert 0.5 < expected < WEIGHT
    assert stacked(np.log(DENSITIES)) == pytest.approx(stacked(np.log(DENSITIES), pseudo=1.0))


def test_a_structure_whose_errors_are_far_too_large_gets_next_to_no_weight() -> None:
    """Only what the prior lends it: n log w + log w + log (1 - w) is largest at w = (n + 1) / (n + 2)."""
    batches = 30
    good, bad = planted(batches, 1.0), planted(batches, 60.0)
    for structures, place in (((good, bad), 1), ((bad, good), 0)):
        weights, wider = weighed(*structures)
        assert sum(weights) == pytest.approx(1.0)
        assert weights[place] == pytest.approx(1.0 / (batches + 2), abs=1e-4)
        assert wider[place] > 7.0
        assert wider[1 - place] == pytest.approx(1.0, rel=STEP - 1)


def test_shape_and_place_have_the_weights_of_both_together() -> None:
    """Of three batches the shape speaks for the first structure and the place for the second, less."""
    right, wide, wrong = planted(3, 1.0), planted(3, 3.0), planted(3, 5.0)
    shape, place = left_out(right, wrong), left_out(wide[:, :1], right[:, :1])
    both = weighings(shape, place)
    alone = [found.weights[0] for kind in (shape, place) for found in weighings(kind)]
    assert both[0].weights == both[1].weights
    assert alone[1] < both[0].weights[0] < alone[0]
    assert alone[1] < 0.5 < both[0].weights[0]
    assert both[0].wider[1] > both[1].wider[1]


def test_structures_that_do_as_well_share_the_weight() -> None:
    weights, _ = weighed(planted(8, 1.0), -planted(8, 1.0), planted(8, 1.0))
    assert weights == pytest.approx((1 / 3,) * 3, abs=1e-5)


@pytest.mark.parametrize("noise", [0.0, 0.015])
def test_a_factor_of_two_is_found(noise: float) -> None:
    """What was planted beside the noise of the measurement, so many batches outweighing those lent."""
    _, (wider, right) = weighed(planted(2000, 2.0, noise=noise), planted(2000, 1.0, noise=noise), noise=noise)
    assert wider == pytest.approx(2.0, rel=STEP - 1)
    assert right == pytest.approx(1.0, rel=STEP - 1)


def test_few_batches_widen_by_less() -> None:
    """With n batches and PSEUDO that found it right the likeliest square is (PSEUDO + 4 n) / (PSEUDO + n)."""
    for batches in (1, 4, 20):
        _, (wider,) = weighed(planted(batches, 2.0))
        assert wider == pytest.approx(np.sqrt((PSEUDO + 4 * batches) / (PSEUDO + batches)), rel=STEP - 1)


def test_lucky_batches_close_no_band_beyond_the_narrowest() -> None:
    assert weighed(planted(2000, 0.05))[1] == pytest.approx((NARROWEST,))
