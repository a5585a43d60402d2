"""Three bells laid down and released by finite elements: from their locked-in resultants the shell gives
their gap.

CalculiX, axisymmetric quadratic solids, large displacements, isotropic hardening; a nose travels to the rim
over a raised preform (0.5 and 0.4 mm wall, 1.5 and 3 mm stand-off), then lets go. Where the data come from
is told beside them. Their own accuracy: 0.01 mm of gap in the body, 5 % at the rim.
"""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from springfit.mechanics.shell.large_rotations import columns_about
from springfit.mechanics.shell.limits import elastic_envelope
from springfit.mechanics.shell.release import Release, ShellOfRevolution
from tests.helpers.repository import DATA
from tests.helpers.shells.large_release import release_large
from tests.helpers.shells.yield_shares import excess

LINEAR, NONLINEAR = 0.02, 0.015  # rms, of the case's largest gap
BODY = 0.01  # both, leaving out the last 8 mm, which hang on how the edge was laid
# Hoop shares -N_theta/(sigma t) of the flow stress when let go, on the five kept bells (annealed and hard, 0.4 and
# 0.5 mm, high and low preforms): -0.50 to 0.99, of the 2/sqrt(3) either way that yield allows.
USEFUL_HOOP = (-0.5, 1.0)
FOLDER = DATA / "laid_bells"
CASES = ("c01_base", "c05_thin04", "c07_bubble3")


def case(name: str) -> tuple[pd.DataFrame, ShellOfRevolution]:
    table = pd.read_csv(FOLDER / f"{name}.csv")
    inputs = json.loads((FOLDER / f"{name}.json").read_text())
    shell = ShellOfRevolution.on_inner_surface(
        table.s_mm, table.z_mm, table.r_mandrel_mm, table.phi,
        wall=table.thickness_mm, youngs_modulus=inputs["E"], poisson_ratio=inputs["nu"],
    )  # fmt: skip
    return table, shell


def rms_share(table: pd.DataFrame, released: Release, rows: slice | pd.Series = slice(None)) -> float:
    gap = table.gap_normal_mm
    return float(np.sqrt(np.mean((released.normal - gap)[rows] ** 2)) / gap.abs().max())


@pytest.mark.parametrize("name", CASES)
def test_linear_release(name: str) -> None:
    table, shell = case(name)
    released = shell.release(table.N_s, table.N_th, table.M_s, table.M_th)
    assert rms_share(table, released) < LINEAR
    assert rms_share(table, released, table.s_mm < table.s_mm.max() - 8) < BODY


@pytest.mark.parametrize("name", CASES)
def test_release_with_large_rotations(name: str) -> None:
    table, shell = case(name)
    released = release_large(shell, table.N_s, table.N_th, table.M_s, table.M_th)
    assert rms_share(table, released) < NONLINEAR
    assert rms_share(table, released, table.s_mm < table.s_mm.max() - 8) < BODY
    size = (table.z_bell_mm - table.z_mm).abs().max()
    assert np.abs(released.axial - (table.z_bell_mm - table.z_mm)).max() < 0.02 * size


@pytest.mark.parametrize("name", CASES)
def test_columns_about_half_the_state_hold_large_rotations(name: str) -> None:
    """Four columns, the state's own resultants: linear they miss 8 to 9 % of the gap, about half the state 0.5 %."""
    table, shell = case(name)
    state = [table[column].to_numpy() for column in ("N_s", "N_th", "M_s", "M_th")]
    large = release_large(shell, *state).normal
    columns = [np.outer(part, np.eye(4)[i]) for i, part in enumerate(state)]
    half = tuple(part / 2 for part in state)
    missed = columns_about(shell, half, *columns).normal.sum(axis=1) - large
    size = np.abs(large).max()
    assert np.abs(missed).max() < 0.006 * size
    assert np.abs(shell.release(*state).normal - large).max() > 0.07 * size


@pytest.mark.parametrize("name", CASES)
def test_laid_bells_keep_within_the_limits(name: str) -> None:
    """Flow stress of the laid state: the case's own law at the mean plastic strain of each station."""
    table, shell = case(name)
    flow = let_go_flow(name, table)
    assert excess(*shares(table, flow)).max() < 1.01  # faces harden a little more than the mean
    hoop = shares(table, flow)[0]
    assert USEFUL_HOOP[0] - 0.01 < hoop.min() < -0.3 and 0.9 < hoop.max() < USEFUL_HOOP[1]
    assert (table.gap_normal_mm.abs() < elastic_envelope(shell, flow)).iloc[1:].all()


def test_shares_of_the_yield_as_bought_pass_what_yield_allows() -> None:
    """1.1, 1.4 and 1.9 times: laying hardens the sheet, so the bound is the flow stress it has when let go."""
    found = []
    for name in CASES:
        table, _ = case(name)
        bought = np.full(len(table), json.loads((FOLDER / f"{name}.json").read_text())["sy0"])
        found.append(excess(*shares(table, bought)).max())
    assert found == pytest.approx([1.11, 1.44, 1.87], abs=0.01)


def let_go_flow(name: str, table: pd.DataFrame) -> np.ndarray:
    law = json.loads((FOLDER / f"{name}.json").read_text())
    start = (law["sy0"] / law["K"]) ** (1 / law["n"])
    return (law["K"] * (start + table.peeq_mean) ** law["n"]).to_numpy()


def shares(table: pd.DataFrame, flow: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Hoop, meridional and moment share of a flow stress."""
    force = flow * table.thickness_mm.to_numpy()
    moment = force * table.thickness_mm.to_numpy() / 4
    return -table.N_th.to_numpy() / force, table.N_s.to_numpy() / force, table.M_s.to_numpy() / moment
