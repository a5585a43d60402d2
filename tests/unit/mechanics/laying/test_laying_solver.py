"""The laying element and its solver: exact tangent, quadratic convergence, the order the element promises."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from springfit.mechanics.laying.kernels.contact import Nose, SteelCurve
from springfit.mechanics.laying.kernels.element import MeridianMesh
from springfit.mechanics.laying.kernels.section import EQUIVALENT
from springfit.mechanics.laying.plasticity import FlowCurve
from springfit.mechanics.laying.preform import sheet_model
from springfit.mechanics.laying.solver import (
    NEVER,
    PATIENCE,
    LayingFailure,
    LayingModel,
    SheetState,
    _crept,
    marched,
    released,
)

BRASS = FlowCurve(110_000.0, 0.345, 750.0, 0.4, 150.0)
TANGENT_TOLERANCE = 1.0e-6
SLOPE_TOLERANCE = 0.15


def cone(length: float = 12.0, angle: float = 0.6) -> SteelCurve:
    s = np.linspace(0.0, length, 49)
    return SteelCurve(s, s * np.cos(angle), 20.0 + s * np.sin(angle), np.full_like(s, angle))


def raised_sheet(elements: int = 12) -> tuple[LayingModel, SheetState]:
    steel = cone()
    stand_off = 0.02 * np.clip(steel.s - 3.0, 0.0, None) ** 1.5
    return sheet_model(
        steel,
        stand_off=stand_off,
        wall=0.5,
        curve=BRASS,
        nodes=np.linspace(0.0, 12.0, elements + 1),
        layers=9,
    )


def dense(band: np.ndarray) -> np.ndarray:
    size, width = band.shape
    full = np.zeros((size, size))
    for row in range(size):
        for column in range(row, min(size, row + width)):
            full[row, column] = full[column, row] = band[row, column - row]
    return full


def test_tangent_is_the_derivative_of_the_forces() -> None:
    model, state = raised_sheet()
    rng = np.random.default_rng(1)
    nodal = state.nodal + rng.normal(size=state.nodal.shape) * np.array([0.01, 0.01, 0.004, 0.004])
    nose, held = Nose(8.0, 5.0), state.foot <= 5.0

    def force(trial: np.ndarray) -> np.ndarray:
        return model.forces(replace(state, nodal=trial), nose=nose, held=held)[0]

    _, band, history = model.forces(replace(state, nodal=nodal), nose=nose, held=held)
    assert np.max(history[..., EQUIVALENT]) > 0.0, "the check must reach into yielding"
    size, step = nodal.size, 1.0e-6
    numeric = np.empty((size, size))
    for k in range(size):
        move = np.zeros(size)
        move[k] = step
        move = move.reshape(nodal.shape)
        numeric[:, k] = (force(nodal + move) - force(nodal - move)) / (2.0 * step)
    exact = dense(band)
    free = slice(1, None)  # the tail node is fixed along the axis
    assert np.max(np.abs(exact - numeric)[free, free]) < TANGENT_TOLERANCE * np.max(np.abs(exact))


def test_newton_converges_quadratically_while_yielding() -> None:
    """log r(k+1) / log r(k) tends to 2: the last residuals square, relative to the first."""
    model, state = raised_sheet()
    model = replace(model, patience=NEVER)
    model.__dict__["tolerance"] = 1.0e-7 * model.tolerance
    push = np.zeros(state.nodal.size)
    push[1::4] = 90.0  # pressed toward the axis, past yield
    after, norms = model.balance(state, outside=push)
    assert np.max(after.history[..., EQUIVALENT]) > 1.0e-4
    relative = np.array(norms) / norms[0]
    last, before = relative[-1], relative[-2]
    assert before < 1.0e-2
    assert np.log(last) / np.log(before) > 1.7 or last < 1.0e-11


def test_displacement_error_falls_with_the_fourth_power_of_element_length() -> None:
    """A long cylinder under edge shear, elastic: u0 = Q/(2 beta^3 D), cubic elements: h^4."""
    t, radius, load = 0.5, 60.0, 0.1
    elastic = FlowCurve(110_000.0, 0.33, 2000.0, 0.1, 1000.0)
    rigidity = elastic.youngs_modulus * t**3 / (12.0 * (1.0 - 0.33**2))
    beta = (3.0 * (1.0 - 0.33**2) / (radius * t) ** 2) ** 0.25
    expected = load / (2.0 * beta**3 * rigidity)
    s = np.linspace(0.0, 40.0, 41)
    steel = SteelCurve(s, s, np.full_like(s, radius - 0.5 * t), np.zeros_like(s))
    tips, counts = [], np.array([16, 24, 32, 48])
    for elements in (*counts, 160):
        model, state = sheet_model(
            steel, stand_off=np.zeros_like(s), wall=t, curve=elastic, nodes=np.linspace(0.0, 40.0, elements + 1),
            layers=9,
        )  # fmt: skip
        pull = np.zeros(state.nodal.size)
        pull[-3] = -load * radius  # per radian, outward
        after, _ = model.balance(state, outside=pull)
        tips.append(after.nodal[-1, 1] - radius)
    assert tips[-1] == pytest.approx(expected, rel=2.0e-2)
    errors = np.abs(np.array(tips[:-1]) - tips[-1])
    slope = np.polyfit(np.log(1.0 / counts), np.log(errors), 1)[0]
    assert slope == pytest.approx(4.0, abs=SLOPE_TOLERANCE)


def test_steel_foot_and_distance_of_points_off_an_arc() -> None:
    angle = np.linspace(0.1, 1.3, 61)
    radius = 40.0
    steel = SteelCurve(radius * angle, radius * np.sin(angle), 60.0 - radius * np.cos(angle), angle)
    truth, off = np.array([0.3, 0.7, 1.1]), np.array([0.4, 1.5, -0.2])
    z, r = (radius - off) * np.sin(truth), 60.0 - (radius - off) * np.cos(truth)
    s, distance, slope, curvature = steel.project(z, r, radius * truth + 0.3)
    assert np.allclose(s, radius * truth, atol=1.0e-5)
    assert np.allclose(distance, off, atol=1.0e-5)
    assert np.allclose(slope, truth, atol=1.0e-6)
    assert np.allclose(curvature, 1.0 / radius, rtol=1.0e-3)


def test_a_nose_goes_no_deeper_into_a_hollow_than_it_fits() -> None:
    """A hollow of 5 mm radius between two lines: a nose of 8 mm stays a wall and its radius off all of it."""
    s = np.linspace(0.0, 40.0, 801)
    slope = 0.3 + np.clip((s - 18.0) / 5.0, 0.0, 0.8)
    z, r = (np.concatenate([[0.0], np.cumsum(0.05 * f(0.5 * (slope[1:] + slope[:-1])))]) for f in (np.cos, np.sin))
    steel = SteelCurve(s, z, 30.0 + r, slope)
    tool = steel.tool(Nose(8.0, 20.0), wall=0.5, stiffness=1.0)
    nearest = np.min(np.hypot(steel.table.z - tool.z, steel.table.r - tool.r))
    assert nearest == pytest.approx(8.5, abs=2.0e-3)
    flat = steel.tool(Nose(8.0, 5.0), wall=0.5, stiffness=1.0)
    assert np.allclose((flat.z, flat.r), steel.point(5.0, 8.5), atol=1.0e-9)


def test_creeping_to_rest_ends_where_the_direct_way_does() -> None:
    model, state = raised_sheet()
    push = np.zeros(state.nodal.size)
    push[1::4] = 30.0  # elastic, so that both ways must meet
    direct, _ = model.balance(state, outside=push)
    crept = _crept(model, state, outside=push)
    moved = np.max(np.abs(direct.nodal - state.nodal))
    assert moved > 0.01
    assert np.max(np.abs(crept.nodal - direct.nodal)) < 1.0e-3 * moved


def test_a_load_beyond_what_the_sheet_can_bear_is_a_named_failure() -> None:
    model, state = raised_sheet()
    push = np.zeros(state.nodal.size)
    push[1::4] = 1.0e5
    with pytest.raises(LayingFailure, match="no equilibrium"):
        model.balance(state, outside=push)


def test_the_nose_brings_the_sheet_down_and_leaves_it_there() -> None:
    model, state = raised_sheet()
    arcs = np.append(np.arange(3.0, 12.0, 0.25), 12.0)
    seated = marched(model, state, noses=tuple(Nose(8.0, float(s)) for s in arcs))
    y = model.mesh.curve(seated.nodal)
    _, distance, _, _ = model.steel.project(y[:, 2], y[:, 5], seated.foot)
    assert np.max(np.abs(distance - 0.25)) < 0.005
    assert np.max(seated.history[..., EQUIVALENT]) > 0.001


def test_carrying_answers_on_changes_no_release() -> None:
    """Against every element worked out every time, both to tight equilibrium: 1e-3 of how far the sheet springs."""
    arcs = np.append(np.arange(3.0, 12.0, 0.25), 12.0)
    noses = tuple(Nose(8.0, float(s)) for s in arcs)
    sprung = []
    for patience in (PATIENCE, NEVER):
        model, state = raised_sheet()
        model = replace(model, patience=patience)
        model.__dict__["tolerance"] = 0.01 * model.tolerance
        seated = marched(model, state, noses=noses)
        sprung.append(released(model, seated).nodal[:, :2] - seated.nodal[:, :2])
    assert np.max(np.abs(sprung[0] - sprung[1])) < 1.0e-3 * np.max(np.abs(sprung[1]))


def test_mesh_carries_a_straight_line_exactly() -> None:
    mesh = MeridianMesh(np.array([0.0, 1.0, 2.5]))
    nodal = np.array([[0.0, 5.0, 0.8, 0.6], [0.8, 5.6, 0.8, 0.6], [2.0, 6.5, 0.8, 0.6]])
    y = mesh.curve(nodal)
    assert np.allclose(y[:, 0], 0.8) and np.allclose(y[:, 3], 0.6)
    assert np.allclose(y[:, [1, 4]], 0.0, atol=1.0e-12)
    assert np.allclose(y[:, 5], 5.0 + 0.6 * mesh.parameters)
