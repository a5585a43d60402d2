"""Components of variance by restricted maximum likelihood against published ones.

Pastes: Davies & Goldsmith, Statistical Methods in Research and Production, 4th ed. 1972, p. 138; the values of R's lme
as kept with a public test suite (batch 1.658, cask 8.433, residual 0.678, mean 60.0533). Oxide: Littell et al., SAS
System for Mixed Models, 1996, p. 155, balanced, so that the nested analysis of variance worked by hand is exact.
Dyestuff: ibid. p. 135, values of Bates et al., J. Stat. Softw. 67(1), 2015. GUM H.5: JCGM 100:2008, annex H.5, tables
H.9 and H.10.
"""

from __future__ import annotations

import numpy as np
import pytest

from springfit.watching.gauges.variance_components import variance_components
from tests.reference.learning.printed_components import DYESTUFF, OXIDE, READINGS_A_DAY, VOLTS, WITHIN_DAY

PRINTED, CRITERION, ONE_MICROVOLT_TENTH = 1e-3, 1e-3, 0.1

PASTES = {
    "A": [[62.8, 62.6], [60.1, 62.3], [62.7, 63.1]],
    "B": [[60.0, 61.4], [57.5, 56.9], [61.1, 58.9]],
    "C": [[58.7, 57.5], [63.9, 63.1], [65.4, 63.7]],
    "D": [[57.1, 56.4], [56.9, 58.6], [64.7, 64.5]],
    "E": [[55.1, 55.1], [54.7, 54.2], [58.8, 57.5]],
    "F": [[63.4, 64.9], [59.3, 58.1], [60.5, 60.0]],
    "G": [[62.5, 62.6], [61.0, 58.7], [56.9, 57.7]],
    "H": [[59.2, 59.4], [65.2, 66.0], [64.8, 64.1]],
    "I": [[54.8, 54.8], [64.0, 64.0], [57.7, 56.8]],
    "J": [[58.3, 59.3], [59.2, 59.2], [58.9, 56.6]],
}


def test_casks_within_batches_of_paste() -> None:
    rows = [(b, f"{b}{i}", v) for b, casks in PASTES.items() for i, cask in enumerate(casks) for v in cask]
    batch, cask, strength = zip(*rows, strict=True)
    found = variance_components(strength, {"batch": batch, "cask": cask})
    assert found.sd("batch") ** 2 == pytest.approx(1.658, rel=PRINTED)
    assert found.sd("cask") ** 2 == pytest.approx(8.433, rel=PRINTED)
    assert found.sd("residual") ** 2 == pytest.approx(0.678, rel=PRINTED)
    assert found.mean == pytest.approx(60.0533, abs=PRINTED)
    for one in found.components:
        assert one.low <= one.sd <= one.high


def test_wafers_within_lots_of_oxide() -> None:
    rows = [(lot, f"{lot}{i}", v) for lot, wafers in OXIDE.items() for i, wafer in enumerate(wafers) for v in wafer]
    lot, wafer, thickness = zip(*rows, strict=True)
    found = variance_components(thickness, {"lot": lot, "wafer": wafer})
    assert found.sd("lot") == pytest.approx(11.397683, rel=PRINTED)
    assert found.sd("wafer") == pytest.approx(5.988801, rel=PRINTED)
    assert found.sd("residual") == pytest.approx(3.545341, rel=PRINTED)
    assert found.mean == pytest.approx(2000.152778, abs=PRINTED)


def test_batches_of_dyestuff_with_the_criterion() -> None:
    rows = [(batch, v) for batch, values in DYESTUFF.items() for v in values]
    batch, strength = zip(*rows, strict=True)
    found = variance_components(strength, {"batch": batch})
    assert found.sd("batch") == pytest.approx(42.0006, rel=PRINTED)
    assert found.sd("residual") == pytest.approx(49.5101, rel=PRINTED)
    assert found.criterion == pytest.approx(319.65428, abs=CRITERION)


def test_days_of_a_voltage_standard() -> None:
    """Five readings a day, given by their mean and standard deviation: any five such readings are as good."""
    shape = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])
    shape /= shape.std(ddof=1)
    days = [mean + sd * shape for mean, sd in zip(VOLTS, WITHIN_DAY, strict=True)]
    day = np.repeat(np.arange(len(VOLTS)), READINGS_A_DAY)
    found = variance_components(np.concatenate(days), {"day": list(day)})
    assert found.sd("day") == pytest.approx(42.64, abs=2 * ONE_MICROVOLT_TENTH)
    assert found.sd("residual") == pytest.approx(84.89, abs=2 * ONE_MICROVOLT_TENTH)
    assert found.mean_sd == pytest.approx(18.05, abs=ONE_MICROVOLT_TENTH)


def test_a_component_that_is_not_there_is_nothing() -> None:
    values = np.random.default_rng(2).normal(size=40)
    found = variance_components(values, {"group": list(np.arange(40) // 20)})
    group = found.components[0]
    assert group.sd < group.high
    assert group.low == 0.0
