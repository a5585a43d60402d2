"""Cahoon, Broughton & Kutzak 1971: yield from hardness and hardening exponent, in brass. Values computed from
the formula.
"""

from __future__ import annotations

import pytest

from springfit.mechanics.hardness import flow_at_eight_percent, yield_from_hardness
from springfit.mechanics.metal.alloys import alloy, yield_strength

PRINTED = 1e-3  # relative: four printed digits


@pytest.mark.parametrize(
    ("vickers", "exponent", "expected"), [(70, 0.49, 74.0), (170, 0.05, 495.3), (130, 0.15, 300.9)]
)
def test_yield_from_hardness(vickers: float, exponent: float, expected: float) -> None:
    found = yield_from_hardness(vickers, hardening_exponent=exponent)
    assert found.value == pytest.approx(expected, rel=PRINTED)
    assert found.low < found.value < found.high


def test_a_hard_sheet_agrees_with_the_alloy_table_and_a_third_of_the_hardness_does_not() -> None:
    """Publication 120: CW505L hard has HV 170 and 450 MPa proof, annealed HV 70 and 125 MPa."""
    hard = yield_from_hardness(170, hardening_exponent=0.05)
    assert hard.low < yield_strength(alloy("C26000"), "H04").value < hard.high
    assert pytest.approx(1.83, abs=0.005) == 70 * 9.80665 / 3 / 125


def test_flow_at_eight_percent_lies_above_the_yield() -> None:
    assert flow_at_eight_percent(70) == pytest.approx(70 * 9.80665 / 2.9)
    assert flow_at_eight_percent(70) > yield_from_hardness(70, hardening_exponent=0.49).value


def test_bad_input_is_named() -> None:
    with pytest.raises(ValueError, match="vickers: found -3"):
        flow_at_eight_percent(-3)
    with pytest.raises(ValueError, match=r"hardening_exponent: found 1\.2"):
        yield_from_hardness(100, hardening_exponent=1.2)
