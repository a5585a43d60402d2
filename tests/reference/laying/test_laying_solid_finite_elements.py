"""The laying model from its inputs alone against three bells laid and released by solid finite elements.

Source: a general-purpose finite-element program, axisymmetric quadratic solids, two through the wall, large
displacements; converged to about 0.01 mm of gap in the body and 5 % at the rim. Where the data come from is told beside
them.
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pandas as pd
import pytest

from springfit.mechanics.laying import Laid, LayingCase, lay
from springfit.mechanics.laying.plasticity import FlowCurve
from springfit.mechanics.laying.preform import bubble
from tests.helpers.repository import DATA

FIVE_PERCENT = 0.05
MEMBRANE_TOLERANCE, MOMENT_TOLERANCE = 0.15, 0.20  # rms of the largest value: the model's, not the solid's, error
WALL_TOLERANCE_MM = 0.005
PAST_THE_RIM_MM = 15.0  # a hump whose end is not given ends here: read off the stand-offs of the data

FOLDER = DATA / "laid_bells"
CASES = ("c01_base", "c05_thin04", "c07_bubble3")


def horn(given: dict[str, Any]) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """s, z, r, slope of r = b (x + x0)^-gamma, x from the mouth inward."""
    gamma, length, rim = given["gamma"], given["length"], given["r_rim"]
    x0 = length / ((rim / given["r_tail"]) ** (1.0 / gamma) - 1.0)
    x = np.geomspace(x0, length + x0, 100_001)[::-1]
    z, r = length + x0 - x, rim * (x / x0) ** -gamma
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(z), np.diff(r)))])
    s = np.linspace(0.0, arc[-1], int(arc[-1] / 0.25) + 1)
    z = np.interp(s, arc, z)
    r = rim * ((length - z + x0) / x0) ** -gamma
    return s, z, r, np.arctan(gamma * r / (length - z + x0))


def laid(name: str) -> tuple[Laid, pd.DataFrame]:
    given = json.loads((FOLDER / f"{name}.json").read_text())
    s, z, r, slope = horn(given)
    hump = given["preform"]
    end = hump["s2"] if hump["s2"] is not None else s[-1] + PAST_THE_RIM_MM
    off = bubble(s, height=hump["h"], start=hump["s1"], end=end, skew=hump.get("skew", 1.0))
    curve = FlowCurve(given["E"], given["nu"], given["K"], given["n"], given["sy0"])
    case = LayingCase(s, z, r, slope, off, given["t"], curve, given["rho"], given["s_spin"])
    solid = pd.read_csv(FOLDER / f"{name}.csv")
    return lay(case).at(solid["s_mm"].to_numpy()), solid


def relative_rms(found: np.ndarray, expected: pd.Series) -> float:
    error = found - expected.to_numpy()
    return float(np.sqrt(np.mean(error**2)) / np.abs(expected).max())


@pytest.mark.parametrize("name", CASES)
def test_gap_and_locked_in_state(name: str) -> None:
    found, solid = laid(name)
    assert relative_rms(found.gap, solid["gap_normal_mm"]) < FIVE_PERCENT
    assert relative_rms(found.n_theta, solid["N_th"]) < MEMBRANE_TOLERANCE
    assert relative_rms(found.n_s, solid["N_s"]) < MEMBRANE_TOLERANCE
    assert relative_rms(found.m_theta, solid["M_th"]) < MOMENT_TOLERANCE
    assert np.max(np.abs(found.wall - solid["thickness_mm"])) < WALL_TOLERANCE_MM


NOT_MET = pytest.mark.xfail(strict=True, reason="0.21 of the largest since elements have two points: to be mended")


@pytest.mark.parametrize("name", [pytest.param("c01_base", marks=NOT_MET), *CASES[1:]])
def test_meridional_moment(name: str) -> None:
    found, solid = laid(name)
    assert relative_rms(found.m_s, solid["M_s"]) < MOMENT_TOLERANCE
