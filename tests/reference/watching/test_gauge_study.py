"""A gauge study against the printed one of ten parts, three people, three trials.

Automotive Industry Action Group, Measurement Systems Analysis, 3rd ed. 2002, ch. III, section B, the data of its worked
example. Printed by ranges: EV 0.202, AV 0.230, GRR 0.306, PV 1.104, TV 1.146; sums of squares and components by the
analysis of variance of the same data.
"""

from __future__ import annotations

import pytest

from springfit.watching.gauges.gauge_study import gauge_study
from tests.reference.watching.printed_gauge_study import FIVE_DIGITS, PRINTED_BY_RANGES, READINGS


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
