"""The bell of a shop without a record: sizes and signs that the trade expects (common practice, no source)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from springfit.geometry.meridian import Meridian, meridian_from_stations
from springfit.learning.basis.batch_basis import batch_basis
from springfit.learning.laid import laid_gap
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


def largest(mandrel: Meridian, conditions: Conditions) -> float:
    return float(laid_gap(mandrel, conditions, batch_basis(mandrel, conditions))[0].max())


def test_the_gap_grows_from_a_tight_tail_to_the_flare(mandrel: Meridian) -> None:
    basis = batch_basis(mandrel, USUAL)
    gap, _ = laid_gap(mandrel, USUAL, basis)
    growing = gap[: int(np.argmax(gap)) + 1]  # past its largest, the trimmed edge lays itself down again
    assert np.max(np.maximum.accumulate(growing) - growing) <= DIP_MM
    assert np.argmax(gap) > 0.9 * len(gap)
    assert LARGEST_MM[0] <= gap.max() <= LARGEST_MM[1]
    assert np.abs(gap[basis.slope < GENTLE]).max() < THROAT_MM


def test_harder_sheet_springs_more_and_red_brass_less(mandrel: Meridian) -> None:
    usual = largest(mandrel, USUAL)
    assert largest(mandrel, replace(USUAL, temper="H02", anneal="none")) > 1.2 * usual
    assert largest(mandrel, replace(USUAL, alloy="C23000")) < 0.95 * usual


def test_the_tail_is_registered(mandrel: Meridian) -> None:
    basis = batch_basis(mandrel, USUAL)
    _, axial = laid_gap(mandrel, USUAL, basis)
    assert abs(axial[0]) < 1e-4
