"""Flow stress: bounded by the table, rising with strain, right at both ends."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.mechanics.metal.alloy_table import read_alloys
from springfit.mechanics.metal.alloys import Alloy, alloy, yield_strength
from springfit.mechanics.metal.hardening import flow_law, flow_stress, worked_strain
from springfit.mechanics.metal.tempers import rolling_strain

STRAINS = np.linspace(0, 2, 81)
WORST_FIT = 0.15  # relative, of any rolled row; the rms is 7 % or better


@pytest.mark.parametrize("uns", sorted(read_alloys()))
@pytest.mark.parametrize("anneal", ["full", "partial", "none", None])
@pytest.mark.parametrize("temper", [None, "OS025", "O60", "H02", "H08"])
def test_bounded_by_the_table_and_rising(uns: str, anneal: str | None, temper: str | None) -> None:
    metal = alloy(uns)
    rows = metal.rows(metal.definition)
    flow = flow_stress(metal, temper=temper, anneal=anneal, strain=STRAINS)
    for values in flow:
        assert (np.diff(values) >= -1e-9).all()
    assert (flow.low <= flow.value).all() and (flow.value <= flow.high).all()
    assert flow.low.min() >= rows[0].yield_low - 1e-9
    assert flow.high.max() <= rows[-1].yield_high + 1e-9


@pytest.mark.parametrize("uns", sorted(read_alloys()))
def test_starts_from_the_annealed_yield_and_passes_near_the_rolled_rows(uns: str) -> None:
    metal = alloy(uns)
    rows = metal.rows(metal.definition)
    law = flow_law(metal, temper="O60", anneal="full")
    assert law.stress(0.0) == pytest.approx(rows[0].yield_strength, rel=1e-9)
    for row in rows[1:]:
        assert law.stress(rolling_strain(row.temper)) == pytest.approx(row.yield_strength, rel=WORST_FIT)


def test_small_strain_is_not_half_the_yield() -> None:
    """A pure power law, 900 e^0.49 MPa, gives 42.8 MPa at 0.2 % where annealed brass yields above 110."""
    brass = alloy("C26000")
    at_two_permille = flow_stress(brass, temper="O60", anneal="full", strain=0.002).value
    assert 115 < at_two_permille < 150
    assert pytest.approx(42.8, abs=0.1) == 900 * 0.002**0.49


def test_a_full_anneal_wipes_the_rolling_and_no_anneal_keeps_it() -> None:
    brass = alloy("C26000")
    soft = flow_stress(brass, temper="H04", anneal="full").value
    kept = flow_stress(brass, temper="H04", anneal="none").value
    partial = flow_stress(brass, temper="H04", anneal="partial")
    assert soft == pytest.approx(yield_strength(brass, "annealed").value)
    assert kept == pytest.approx(yield_strength(brass, "H04").value, rel=WORST_FIT)
    assert soft < partial.value < kept
    assert partial.low <= soft and partial.high >= kept


def test_what_the_shop_floor_knows() -> None:
    """Half hard is stiffer than annealed, 85/15 softer than 70/30, coarse grain softer than fine: the trade's
    word.
    """
    passes = worked_strain(wall=0.5, nose_radius=8.0, passes=2)
    flow = {
        (uns, temper): float(flow_stress(alloy(uns), temper=temper, anneal="none", strain=passes).value)
        for uns in ("C26000", "C23000") for temper in ("OS015", "OS050", "H02")
    }  # fmt: skip
    assert flow["C26000", "H02"] > flow["C26000", "OS015"] > flow["C26000", "OS050"]
    assert flow["C23000", "OS050"] < flow["C26000", "OS050"]


def test_worked_strain_is_the_mean_over_the_wall() -> None:
    y = np.linspace(-0.25, 0.25, 100_001)
    by_hand = 2 / np.sqrt(3) * 3 * 2 * np.abs(y / 8.0).mean()
    assert worked_strain(wall=0.5, nose_radius=8.0, passes=3) == pytest.approx(by_hand, rel=1e-4)


def test_a_metal_of_the_shops_own_does_not_harden() -> None:
    metal = Alloy.own("lot 7", youngs_modulus=104_000, yield_strength=160)
    assert flow_stress(metal, temper=None, anneal="none", strain=0.3).value == pytest.approx(160)


def test_wrong_words_are_named() -> None:
    with pytest.raises(ValueError, match="anneal: found 'soft'"):
        flow_stress(alloy("C26000"), temper=None, anneal="soft")
    with pytest.raises(ValueError, match=r"strain: found -0\.1"):
        flow_stress(alloy("C26000"), temper=None, anneal=None, strain=-0.1)
