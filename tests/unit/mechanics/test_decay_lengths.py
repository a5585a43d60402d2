"""The two rooms that say how far an edge is felt say it alike, as far as they mean the same."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.mechanics.laying import FlowCurve, LayingCase
from springfit.mechanics.laying.grading import LEAST_COSINE, decay_length
from springfit.mechanics.shell import decay

POISSON = 0.34  # of every brass in the table, within 0.01
APART = 0.01  # the steps of laying are those of 0.3: the fourth root of 0.91 over 0.884


def test_laying_grades_its_steps_by_the_shell_s_decay_length() -> None:
    s = np.linspace(0.0, 60.0, 121)
    slope = 0.1 + 1.3 * s / 60.0
    step, middle = np.diff(s), 0.5 * (slope[1:] + slope[:-1])
    z, r = (np.concatenate([[0.0], np.cumsum(step * f(middle))]) for f in (np.cos, np.sin))
    sheet = FlowCurve(110_000.0, POISSON, 750.0, 0.4, 150.0)
    case = LayingCase(s, z, 20.0 + r, slope, np.zeros_like(s), 0.5, sheet, 8.0, 6.0)
    assert np.cos(slope).min() > LEAST_COSINE  # past it each guards a flat rim in its own way
    told = decay.decay_length(20.0 + r, slope, wall=0.5, poisson_ratio=POISSON)
    np.testing.assert_allclose(decay_length(case, s), told, rtol=APART)
    assert decay_length(case, s)[0] / told[0] == pytest.approx((0.8844 / 0.91) ** 0.25, rel=1e-3)
