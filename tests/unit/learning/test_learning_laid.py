"""The bell of a shop without a record: sizes and signs that the trade expects (common practice, no source)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from springfit.geometry.meridian import Meridian, meridian_from_stations
from springfit.learning.basis.hand import AS_ASSUMED
from springfit.learning.experience import Experience
from springfit.learning.fitting import physics_model
from springfit.learning.forecasting.gap_forecast import GapForecast
from springfit.learning.model import SpringModel
from springfit.learning.regression.summaries import Columns
from springfit.records.conditions import Conditions

LARGEST_MM = (0.13, 0.81)  # per side on a 115 to 130 mm rim in half-millimetre brass
THROAT_MM = 0.05
DIP_MM = 0.03
GENTLE = np.radians(10.0)

USUAL = Conditions(
    name="usual",
    alloy="C26000",
    temper="OS035",
    anneal="full",
    wall_mm=0.5,
    draw_end_mm=220.0,
    passes=2,
    back_passes=0,
    hump="good",
    blank_rim_mm=129.0,
    finished_rim_mm=120.0,
)


@pytest.fixture(scope="module")
def mandrel() -> Meridian:
    """A Bessel horn of 130 mm rim, exponent 0.65, 330 mm long."""
    length, tail, rim, exponent = 330.0, 6.0, 65.0, 0.65
    start = length / ((rim / tail) ** (1 / exponent) - 1)
    inward = np.r_[np.linspace(length, 40, 60), np.geomspace(39, 1e-3, 120)]
    radius = rim * start**exponent * (inward + start) ** -exponent
    return meridian_from_stations(length - inward, 2 * radius, diameter_error=0.0)


@pytest.fixture(scope="module")
def model() -> SpringModel:
    """What is known where nothing was ever written down."""
    nothing = Experience(
        digest="", units="mm", hand=AS_ASSUMED, steel={}, conditions={}, revision={}, facts={}, spun_on={}, bells=(),
        raw=(), set_aside=(), columns=Columns((), ()), measured_bases={}, laid={},
    )  # fmt: skip
    return physics_model(nothing)


@pytest.fixture(scope="module")
def usual(model: SpringModel, mandrel: Meridian) -> GapForecast:
    return model.gap(mandrel, USUAL)


def test_the_gap_grows_from_a_tight_tail_to_the_flare(usual: GapForecast, mandrel: Meridian) -> None:
    gap, slope = usual.gap, mandrel.at(usual.arc).slope
    growing = gap[: int(np.argmax(gap)) + 1]  # past its largest, the trimmed edge lays itself down again
    assert np.max(np.maximum.accumulate(growing) - growing) <= DIP_MM
    assert np.argmax(gap) > 0.9 * len(gap)
    assert LARGEST_MM[0] <= gap.max() <= LARGEST_MM[1]
    assert np.abs(gap[slope < GENTLE]).max() < THROAT_MM


@pytest.mark.parametrize(
    ("change", "least", "most"),
    [
        ({"temper": "H02", "anneal": "none"}, 1.2, np.inf),
        ({"alloy": "C23000"}, 0.0, 0.95),
    ],
)
def test_harder_sheet_springs_more_and_red_brass_less(
    change: dict[str, str],
    least: float,
    most: float,
    model: SpringModel,
    usual: GapForecast,
    mandrel: Meridian,
) -> None:
    largest = model.gap(mandrel, replace(USUAL, **change)).gap.max()  # type: ignore[arg-type]
    assert least * usual.gap.max() < largest < most * usual.gap.max()


def test_the_tail_is_registered(usual: GapForecast) -> None:
    assert abs(usual.axial[0]) < 1e-4
