"""Few batches: a value against those before it, neither mean nor standard deviation known, as a normal score.

    Q_r = Phi^-1{T_(r-2)[sqrt((r-1)/r) (x_r - mean_(r-1)) / s_(r-1)]},   r >= 3

Quesenberry 1991, Journal of Quality Technology 23, 213-224, case of both unknown; data of the NIST/SEMATECH
e-Handbook of Statistical Methods, 6.3.2.4; the scores worked out once apart from this program. A watch charts such
scores: they are
unit normal however few batches came before, so that few do not alarm.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import kstest
from scipy.stats import t as student

from springfit.watching.batches.zone_scores import normal_score

VALUES = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0]
SCORES = [0.5721, -0.3212, -0.0683, -1.0990, 0.4429]
FOUR_PLACES = 5e-5


def scores(values: np.ndarray) -> list[float]:
    """Q of each value from the third on, its tail turned into a deviate as a watch turns its own."""
    found = []
    for count in range(2, len(values)):
        before, value = values[:count], float(values[count])
        deviate = np.sqrt(count / (count + 1.0)) * (value - before.mean()) / before.std(ddof=1)
        found.append(normal_score(float(student.logcdf(-abs(deviate), count - 1)), float(deviate)))
    return found


def test_scores_of_the_handbooks_data() -> None:
    assert scores(np.array(VALUES)) == pytest.approx(SCORES, abs=FOUR_PLACES)


def test_scores_of_the_third_value_are_unit_normal() -> None:
    drawn = np.random.default_rng(4).normal(10.0, 3.0, size=(4000, 3))
    assert kstest([scores(row)[0] for row in drawn], "norm").pvalue > 0.01


def test_far_tails_stay_finite_and_in_order() -> None:
    tails = [normal_score(-10.0**power, 1.0) for power in range(4)]
    assert tails == sorted(tails) and np.isfinite(tails).all()
