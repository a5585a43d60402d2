"""Trend filter: the largest penalty of a tent, and bends found where they were put.

Kim, Koh, Boyd & Gorinevsky, l1 trend filtering, SIAM Review 51 (2009) 339-360: from penalty ||(D D')^-1 D y||_inf on
the fit is the least-squares line. For the tent min(i, 20 - i) of 21 points that is 96.904762, worked out apart.
"""

from __future__ import annotations

import numpy as np
import pytest

from springfit.geometry.trend_filter import trend_path

TENT = np.minimum(np.arange(21.0), 20.0 - np.arange(21.0))


def test_largest_penalty_of_the_tent() -> None:
    path = trend_path(np.arange(21.0), TENT, most=5)
    assert path.largest == pytest.approx(96.904762, abs=1e-6)
    difference = np.diff(np.eye(21), n=2, axis=0)
    formula = np.abs(np.linalg.solve(difference @ difference.T, difference @ TENT)).max()
    assert path.largest == pytest.approx(formula, rel=1e-9)


def test_at_the_largest_penalty_there_is_no_bend_and_the_first_is_the_top_of_the_tent() -> None:
    path = trend_path(np.arange(21.0), TENT, most=5)
    assert path.knots[0] == ()
    assert path.knots[1] == (10,)


def test_bends_of_a_noisy_line_come_first_on_the_path() -> None:
    x = np.arange(100.0)
    y = 0.02 * np.maximum(x - 30, 0) - 0.05 * np.maximum(x - 70, 0)
    y = y + 1e-3 * np.random.default_rng(1).standard_normal(100)
    first = next(knots for knots in trend_path(x, y, most=8).knots if len(knots) >= 2)
    assert min(abs(place - 70) for place in first) <= 2
    assert min(abs(place - 30) for place in first) <= 6


def test_too_few_places_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 4"):
        trend_path(np.arange(3.0), np.arange(3.0), most=2)
