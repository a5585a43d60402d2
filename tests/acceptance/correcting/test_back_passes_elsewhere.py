"""Passes toward the tail, written down or not: the swelling is theirs, and no number elsewhere moves by half a thou.

A shop of the demo's own 2-D solid: three sound batches on one mandrel and a fourth whose last pass ran toward the tail,
in one book logged, in the other not. Both are learned and the mandrel is corrected for how it is usually spun.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from springfit.decisions.correction import correct
from springfit.demo.keeping.book_sheets import added
from springfit.demo.keeping.pages import run_tables
from springfit.demo.keeping.runs import Run, spin
from springfit.demo.keeping.sessions import Plan
from springfit.demo.many_shops import make_shop
from springfit.demo.spinning.spun import BatchEffects
from tests.helpers.programs.closed_loop import TARGET, habit, learned

HALF_A_THOU = 0.013  # mm
SWELLS_MM = 60.0  # of z either way of its middle: half of its 90 mm, and what a station is off
MORE = pytest.mark.benchmark  # the same on further seeds: a shop is laid and learned twice
NUMBERS = ("error_mm", "error_springback_mm", "error_steel_mm")


def told(seed: int, logged: int, one_sheet: bool) -> tuple[pd.DataFrame, float]:
    """The stations of the correction and where drawing stops [mm], the last batch's pass written down or not.

    `one_sheet`: every batch is spun by the habit, so that one sheet is laid for all.
    """
    shop = make_shop(seed, batches=3, mandrels=1, bells=3, story="steel", blanks=0.0, steady=one_sheet)
    mandrel, rng = shop.mandrels["M1"], np.random.default_rng([seed, 31])
    recipe = replace(mandrel.habit, spinner="A", lot="L1", back_passes=1)
    day = "2024-03-04"
    run = Run(
        "N1", day, "M1", mandrel.on(day), recipe, BatchEffects.drawn(rng), Plan(datum="witness"), 3, blanks=0.0
    )
    rows = run_tables(spin(run, shop.workshop, rng))
    rows["batches"]["back_passes"] = logged
    known, book = learned(added(shop.tables, rows), shop.units)
    found = correct(known, book, TARGET, conditions=habit(shop)).stations
    return found, float(mandrel.habit.draw_end_mm)


@pytest.mark.parametrize(
    ("seed", "one_sheet"), [(3, True), *(pytest.param(seed, False, marks=MORE) for seed in range(3, 12))]
)
def test_a_logged_pass_moves_nothing_elsewhere(seed: int, one_sheet: bool) -> None:
    (unlogged, draw_end), (logged, _) = told(seed, 0, one_sheet), told(seed, 1, one_sheet)
    elsewhere = (logged["z_mm"] - (draw_end - 12.0)).abs() > SWELLS_MM
    assert elsewhere.sum() > 20
    for name in NUMBERS:
        moved = (logged[name] - unlogged[name])[elsewhere].abs()
        assert moved.max() <= HALF_A_THOU, f"{name} moved by {moved.max():.4f} mm"
