"""A gauge study against the printed one of ten parts, three people, three trials.

Automotive Industry Action Group, Measurement Systems Analysis, 3rd ed. 2002, ch. III, section B, the data of its worked
example. Printed by ranges: EV 0.202, AV 0.230, GRR 0.306, PV 1.104, TV 1.146; sums of squares and components by the
analysis of variance of the same data.
"""

from __future__ import annotations

import numpy as np
import pytest

from springfit.watching.gauges.gauge_study import gauge_study

FIVE_DIGITS, PRINTED_BY_RANGES = 5e-6, 0.012

READINGS = np.array([
    [[0.29, -0.56, 1.34, 0.47, -0.80, 0.02, 0.59, -0.31, 2.26, -1.36],
     [0.41, -0.68, 1.17, 0.50, -0.92, -0.11, 0.75, -0.20, 1.99, -1.25],
     [0.64, -0.58, 1.27, 0.64, -0.84, -0.21, 0.66, -0.17, 2.01, -1.31]],
    [[0.08, -0.47, 1.19, 0.01, -0.56, -0.20, 0.47, -0.63, 1.80, -1.68],
     [0.25, -1.22, 0.94, 1.03, -1.20, 0.22, 0.55, 0.08, 2.12, -1.62],
     [0.07, -0.68, 1.34, 0.20, -1.28, 0.06, 0.83, -0.34, 2.19, -1.50]],
    [[0.04, -1.38, 0.88, 0.14, -1.46, -0.29, 0.02, -0.46, 1.77, -1.49],
     [-0.11, -1.13, 1.09, 0.20, -1.07, -0.67, 0.01, -0.56, 1.45, -1.77],
     [-0.15, -0.96, 0.67, 0.11, -1.45, -0.49, 0.21, -0.49, 1.87, -2.16]],
]).transpose(2, 0, 1)  # parts, people, trials  # fmt: skip


def test_sums_of_squares() -> None:
    found = gauge_study(READINGS)
    assert found.squares == pytest.approx((88.36193, 3.16726, 0.35898, 2.75893), abs=FIVE_DIGITS)


def test_components_with_the_interaction_pooled() -> None:
    found = gauge_study(READINGS)
    assert found.pooled
    assert found.part == pytest.approx(1.086447, abs=FIVE_DIGITS)
    assert found.person == pytest.approx(0.051455, abs=FIVE_DIGITS)
    assert found.repeat == pytest.approx(0.039973, abs=FIVE_DIGITS)
    assert found.gauge_sd == pytest.approx(0.306, abs=PRINTED_BY_RANGES)


def test_readings_that_are_not_complete_are_refused() -> None:
    with pytest.raises(ValueError, match="parts x people x trials"):
        gauge_study(READINGS[:, :, :1])
