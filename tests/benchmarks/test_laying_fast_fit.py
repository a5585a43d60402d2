"""How the constants of `laying_fast` were fitted, and whether they still are what a fit gives (minutes, by hand).

Runs spread evenly over FIT_RANGE (Sobol points): a horn r = b (x + x0)^-gamma, a sheet, a nose, a hump that starts with
spinning and ends past the rim. Each run counts alike, its stations half evenly and half by r/cos(phi), as a ring's
hoop share enters the gap. Robust least squares (soft L1 at 0.2) over SLIDE, WIPE and BODY together.
"""

from __future__ import annotations

from unittest.mock import patch

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import qmc

from springfit.mechanics import laying_fast
from springfit.mechanics.laying import Laid, LayingCase, lay
from springfit.mechanics.laying_fast import BODY, SLIDE, WIPE, Shares, shares
from springfit.mechanics.laying_material import FlowCurve
from springfit.mechanics.laying_preform import bubble

pytestmark = pytest.mark.benchmark

RUNS, SEED, ROBUST_AT = 80, 2, 0.2
YOUNGS_MODULUS, POISSON_RATIO = 110_000.0, 0.34
# rim, tail, length/rim, gamma, wall, yield, K, n, nose, height at a 62.5 mm rim, start/arc, end past the rim/spun arc
LOW = np.array([45, 5, 1.5, 0.55, 0.35, 90, 600, 0.30, 4, 0.5, 0.30, 0.05])
HIGH = np.array([90, 12, 2.4, 0.85, 0.70, 350, 900, 0.49, 12, 2.5, 0.75, 0.30])
GEOMETRIC = [0, 5, 9]
STATED_HOOP, STATED_MERIDIONAL, STATED_MOMENT = 0.14, 0.11, 0.28

Run = tuple[LayingCase, Laid]


def horn(tail: float, rim: float, length: float, gamma: float) -> tuple[np.ndarray, ...]:
    x0 = length / ((rim / tail) ** (1.0 / gamma) - 1.0)
    x = np.geomspace(x0, length + x0, 20_001)[::-1]
    r = rim * (x / x0) ** -gamma
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(r)))])
    s = np.linspace(0.0, arc[-1], int(arc[-1] / 0.5) + 1)
    at = np.interp(s, arc, x)
    r = rim * (at / x0) ** -gamma
    return s, length + x0 - at, r, np.arctan(gamma * r / at)


def design(count: int, seed: int) -> list[LayingCase]:
    points = qmc.Sobol(len(LOW), seed=seed).random(count)
    values = LOW + points * (HIGH - LOW)
    values[:, GEOMETRIC] = (LOW * (HIGH / LOW) ** points)[:, GEOMETRIC]
    return [_case(*map(float, row)) for row in values]


def _case(
    rim: float, tail: float, aspect: float, gamma: float, wall: float, yield_strength: float, strength: float,
    exponent: float, nose: float, height: float, start: float, past: float,
) -> LayingCase:  # fmt: skip
    s, z, r, slope = horn(tail, rim, rim * aspect, gamma)
    draw_end = start * s[-1]
    off = bubble(s, height=height * (rim / 62.5) ** 0.5, start=draw_end, end=s[-1] + past * (s[-1] - draw_end))
    curve = FlowCurve(YOUNGS_MODULUS, POISSON_RATIO, max(strength, 1.05 * yield_strength), exponent, yield_strength)
    return LayingCase(s, z, r, slope, off, wall, curve, nose, draw_end)


def fast(case: LayingCase) -> Shares:
    return shares(
        case.s,
        case.r,
        case.slope,
        np.gradient(case.slope, case.s),
        wall=case.wall,
        flow_stress=case.curve.yield_strength,
        youngs_modulus=case.curve.youngs_modulus,
        nose_radius=case.nose_radius,
        stand_off=case.stand_off,
        draw_end=case.spin_start,
    )


def differences(run: Run) -> tuple[np.ndarray, np.ndarray]:
    """Fast less run, (3, m) at every millimetre of arc, and the weight of the stations (m,)."""
    case, laid = run
    s = np.arange(1.0, laid.rim - 0.3, 1.0)
    found, truth = fast(case), laid.at(s).shares(wall=case.wall, flow_stress=case.curve.yield_strength)
    columns = (found.hoop, found.meridional, found.moment)
    error = np.stack([np.interp(s, case.s, c) - k for c, k in zip(columns, truth, strict=True)])
    ring = np.interp(s, case.s, case.r / np.cos(case.slope)) * (s > case.spin_start)
    spun = (s > case.spin_start) / np.sum(s > case.spin_start)
    return error, 0.5 * ring / ring.sum() + 0.5 * spun


def fitted(runs: list[Run]) -> np.ndarray:
    """SLIDE, WIPE and BODY in one row, fitted to the runs' hoop shares from the present constants."""

    def misfit(p: np.ndarray) -> np.ndarray:
        parts = {"SLIDE": p[:6], "WIPE": p[6:13], "BODY": p[13:]}
        with patch.multiple(laying_fast, **{name: tuple(value) for name, value in parts.items()}):
            rows = [differences(run) for run in runs]
        return np.concatenate([error[0] * np.sqrt(weight * len(weight)) for error, weight in rows])

    start = np.array([*SLIDE, *WIPE, *BODY])
    scale = np.maximum(np.abs(start), 0.1)
    return least_squares(misfit, start, loss="soft_l1", f_scale=ROBUST_AT, x_scale=scale, max_nfev=30).x


@pytest.fixture(scope="module")
def runs() -> list[Run]:
    return [(case, lay(case)) for case in design(RUNS, SEED)]


def test_errors_are_those_the_docstring_states(runs: list[Run]) -> None:
    error = np.concatenate([differences(run)[0] for run in runs], axis=1)
    rms = np.sqrt(np.mean(error**2, axis=1))
    print("rms of hoop, meridional, moment share:", rms.round(3))
    assert rms[0] < STATED_HOOP + 0.01
    assert rms[1] < STATED_MERIDIONAL + 0.01
    assert rms[2] < STATED_MOMENT + 0.02


def test_a_new_fit_is_hardly_better(runs: list[Run]) -> None:
    present = np.array([*SLIDE, *WIPE, *BODY])
    new = fitted(runs)
    print("present:", present.round(4), "\nnew:", new.round(4))

    def rms(p: np.ndarray) -> float:
        with patch.multiple(laying_fast, SLIDE=tuple(p[:6]), WIPE=tuple(p[6:13]), BODY=tuple(p[13:])):
            rows = [differences(run) for run in runs]
        return float(np.sqrt(np.mean([np.sum(error[0] ** 2 * weight) for error, weight in rows])))

    assert rms(present) < 1.05 * rms(new)
