"""One break in the mean: the flow of the Nile at Aswan, 1871-1970.

Data: Durbin & Koopman, Time Series Analysis by State Space Methods, 2001, as in the public-domain data set of that name
(Cobb 1978, Biometrika 65, 243-251, found the break at 1898). Residual sums of squares and BIC as a strucchange-type
analysis prints them; the posterior of the place is worked from the formula of the module by hand.
"""

from __future__ import annotations

import numpy as np
import pytest

from springfit.watching.charts.change_point import change_point

FIRST_YEAR = 1871
NILE = [
    1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180, 799,
    958, 1140, 1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701, 916,
    692, 1020, 1050, 969, 831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698,
    845, 744, 796, 1040, 759, 781, 865, 845, 944, 984, 897, 822, 1010, 771, 676, 649, 846, 812, 742,
    801, 1040, 860, 874, 848, 890, 744, 749, 838, 1050, 918, 986, 797, 923, 975, 815, 1020, 906, 901,
    1170, 912, 746, 919, 718, 714, 740,
]
PRINTED, THREE_DIGITS = 0.01, 5e-4


def test_the_nile_broke_after_1898() -> None:
    found = change_point(NILE)
    assert found.after + FIRST_YEAR - 1 == 1898
    assert found.before == pytest.approx(1097.75, abs=PRINTED)
    assert found.behind == pytest.approx(849.972, abs=PRINTED)
    assert found.squares_without == pytest.approx(2835156.75, abs=PRINTED)
    assert found.squares == pytest.approx(1597457.19, abs=PRINTED)
    assert found.bic_lower == pytest.approx(1318.24 - 1270.08, abs=2 * PRINTED)


def test_how_sure_the_place_of_the_nile_is() -> None:
    found = change_point(NILE)
    assert found.posterior[27] == pytest.approx(0.764, abs=THREE_DIGITS)
    assert found.posterior[26] == pytest.approx(0.121, abs=THREE_DIGITS)
    low, high = found.interval(0.95)
    assert 25 <= low <= 28 <= high <= 32  # published 95 % interval of the place by another method


def test_values_without_a_break_show_none() -> None:
    steady = np.random.default_rng(4).normal(size=(200, 30))
    assert np.mean([change_point(row).bic_lower > 0 for row in steady]) < 0.25
