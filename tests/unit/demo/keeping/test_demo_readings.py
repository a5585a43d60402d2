"""Readings of an invented shop, taken back to the steel by `springfit.geometry`, give the true gap.

Two codes that share nothing meet here: if a sign, a datum or the side of the wall were taken differently, the
means below would be off by tenths of a millimetre.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from springfit.demo.keeping.runs import Run, spin
from springfit.demo.keeping.sessions import Plan
from springfit.demo.many_shops import make_shop
from springfit.demo.shop import Shop
from springfit.demo.spinning.spun import BatchEffects, BellEffects, SpunBell
from springfit.geometry.meridian import Meridian, meridian_from_stations
from springfit.geometry.seating import nearest_point

FIFTEEN_MICRONS = 0.015
PLACING_MM, STATION_MM = 0.06, 0.10
BELLS = 24


@pytest.fixture(scope="module")
def shop() -> Shop:
    return make_shop(5, batches=1, mandrels=1, bells=1, story="right", spread=0.0)


def _readings(shop: Shop, plan: Plan) -> tuple[pd.DataFrame, SpunBell]:
    """Trimmed readings of like bells of a batch without effects, and the bell that each of them is."""
    mandrel = shop.mandrels["M1"]
    recipe = replace(mandrel.habit, spinner="none", lot="none")
    run = Run("B1", "2023-02-01", "M1", mandrel.revisions[0], recipe, BatchEffects(), plan, BELLS)
    rows = spin(replace(run, bell_spread=0.0), shop.workshop, np.random.default_rng(1))
    none = BatchEffects()
    bell = shop.workshop.press.press(run.steel.line, recipe, none).bell(none, BellEffects())
    frame = pd.DataFrame(rows.measurements)
    assert set(frame["datum"]) <= {plan.datum, "tail"}
    return frame[frame["stage"] == "trimmed"], bell


def _steel(shop: Shop) -> Meridian:
    line = shop.mandrels["M1"].revisions[0].line
    return meridian_from_stations(line.z[::4], 2 * line.r[::4], diameter_error=0.0)


def _residual(
    shop: Shop, bell: SpunBell, z: np.ndarray, r: np.ndarray, thickness: float
) -> tuple[np.ndarray, np.ndarray]:
    """Distance of points from the steel, less what is between and the true gap; and sin slope. No rim."""
    s, distance = nearest_point(_steel(shop), z, r)
    kept = np.isfinite(distance) & (s < bell.arc[-1] - 8.0)
    at = [np.interp(s[kept], bell.arc, column) for column in (bell.wall, bell.gap, bell.slope)]
    return distance[kept] - at[0] - thickness - at[1], np.sin(at[2])


def _slid(bell: SpunBell, steel_z: float) -> float:
    """How far the whole bell seems moved along the axis when read from a mark at this steel station."""
    return -float(np.interp(steel_z, bell.steel_z, bell.axial))


def _looks_true(residual: np.ndarray, lean: np.ndarray, slide: float) -> None:
    """The mean is the slide, within what placing bells leaves; the scatter is that of placing stations."""
    left = residual + slide * lean
    assert abs(np.mean(left)) < FIFTEEN_MICRONS
    steep = lean > 0.7
    assert abs(np.mean(left[steep])) < 3 * PLACING_MM / np.sqrt(BELLS)
    assert np.std(left) < 2 * np.hypot(PLACING_MM, STATION_MM)


def test_from_the_witness_line(shop: Shop) -> None:
    frame, bell = _readings(shop, Plan(datum="witness"))
    outside = frame[frame["kind"] == "outside_diameter"]
    scribed = float(Plan().rounded(np.interp(0.78 * bell.arc[-1], bell.arc, bell.steel_z)))
    residual, lean = _residual(
        shop, bell, outside["z_mm"].to_numpy(), outside["value_mm"].to_numpy() / 2, 0.0
    )
    _looks_true(residual, lean, _slid(bell, scribed))


def test_from_the_rim(shop: Shop) -> None:
    frame, bell = _readings(shop, Plan(datum="rim"))
    outside = frame[frame["kind"] == "outside_diameter"]
    z = bell.steel_z[-1] - outside["z_mm"].to_numpy()
    residual, lean = _residual(shop, bell, z, outside["value_mm"].to_numpy() / 2, 0.0)
    _looks_true(residual, lean, -float(bell.axial[-1]))


def test_by_a_stylus_ball(shop: Shop) -> None:
    frame, bell = _readings(shop, Plan(datum="witness", outside="STYLUS"))
    traced = frame[frame["gauge_id"] == "STYLUS"]
    ball = shop.workshop.gauges["STYLUS"].ball_radius_mm
    scribed = float(Plan().rounded(np.interp(0.78 * bell.arc[-1], bell.arc, bell.steel_z)))
    centre = traced["value_mm"].to_numpy() / 2 + ball
    residual, lean = _residual(shop, bell, traced["z_mm"].to_numpy(), centre, ball)
    _looks_true(residual, lean, _slid(bell, scribed))


def test_rings_and_bores(shop: Shop) -> None:
    frame, bell = _readings(shop, Plan(datum="witness", rings=True, inside=True))
    scribed = float(Plan().rounded(np.interp(0.78 * bell.arc[-1], bell.arc, bell.steel_z)))
    slide = _slid(bell, scribed)
    ring = frame[frame["kind"] == "axial_at_diameter"]
    _looks_true(*_residual(shop, bell, ring["z_mm"].to_numpy(), ring["value_mm"].to_numpy() / 2, 0.0), slide)
    bore = frame[frame["kind"] == "inside_diameter"]
    s, distance = nearest_point(_steel(shop), bore["z_mm"].to_numpy(), bore["value_mm"].to_numpy() / 2)
    off = distance - np.interp(s, bell.arc, bell.gap) + slide * np.sin(np.interp(s, bell.arc, bell.slope))
    assert abs(np.nanmean(off)) < 3 * PLACING_MM / np.sqrt(BELLS)


def test_feelers_lie_under_the_true_clearance_by_less_than_a_leaf(shop: Shop) -> None:
    frame, bell = _readings(shop, Plan(datum="tail"))
    felt = frame[frame["kind"] == "clearance"]
    true = np.interp(felt["z_mm"], bell.steel_z, bell.gap)
    lean = np.sin(np.interp(felt["z_mm"], bell.steel_z, bell.slope))
    seat = -np.linalg.lstsq(lean[:, None], felt["value_mm"].to_numpy() - true, rcond=None)[0][0]
    left = felt["value_mm"].to_numpy() - true + seat * lean
    assert -0.08 < np.mean(left) < 0.02
