"""The default prior against what makers see (common practice, no source).

A right-sized bell set back on its mandrel touches at the tail and stands off more and more toward the flare, by 0.13 to
0.81 mm per side at most; the drawn part hardly springs; a half-hard sheet springs more than an annealed one and red
brass less than cartridge brass.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from springfit.mechanics.laying import Laid, lay
from springfit.mechanics.laying.shop_words import laying_case
from springfit.mechanics.metal.alloys import alloy

DIP_MM, LEAST_MM, MOST_MM, THROAT_MM = 0.03, 0.13, 0.81, 0.05
FINISHED_RIM_MM, BLANK_RIM_MM, TAIL_MM, LENGTH_MM, EXPONENT = 60.0, 62.5, 9.0, 110.0, 0.7


def mandrel() -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """s, z, r, slope of a horn r = b (x + x0)^-gamma, x from the mouth inward."""
    x0 = LENGTH_MM / ((BLANK_RIM_MM / TAIL_MM) ** (1.0 / EXPONENT) - 1.0)
    fine = np.geomspace(x0, LENGTH_MM + x0, 40_001)[::-1]
    steps = np.hypot(np.diff(fine), np.diff(BLANK_RIM_MM * (fine / x0) ** -EXPONENT))
    s, x = np.concatenate([[0.0], np.cumsum(steps)])[::100], fine[::100]
    r = BLANK_RIM_MM * (x / x0) ** -EXPONENT
    return s, LENGTH_MM + x0 - x, r, np.arctan(EXPONENT * r / x)


@cache
def bell(uns: str, temper: str, anneal: str) -> Laid:
    """120 mm finished rim, 0.5 mm sheet, drawn to two thirds, two forward passes, good hump, 8 mm nose."""
    s, z, r, slope = mandrel()
    trim = float(np.interp(FINISHED_RIM_MM, r, s))
    case = laying_case(
        s, z, r, slope, wall=0.5, metal=alloy(uns), temper=temper, anneal=anneal,
        draw_end=2.0 / 3.0 * trim, hump="good", passes=2, nose_radius=8.0,
    )  # fmt: skip
    return lay(case, trim_at=trim)


def test_gap_grows_from_tail_to_flare_within_what_makers_see() -> None:
    gap = bell("C26000", "OS025", "full").gap
    assert np.max(np.maximum.accumulate(gap) - gap) < DIP_MM
    assert LEAST_MM < np.max(gap) < MOST_MM


def test_throat_and_drawn_part_hardly_spring() -> None:
    found = bell("C26000", "OS025", "full")
    assert np.max(np.abs(found.gap[found.s < 2.0 / 3.0 * found.rim])) < THROAT_MM


def test_drawn_part_is_left_with_a_pull_and_only_the_hoop_strain_of_sliding_up_the_flare() -> None:
    """(N_theta - nu N_s)/(E t) = slide sin(phi)/r: stretched along the meridian, it lies on the steel elastic."""
    found, metal = bell("C26000", "OS025", "full"), alloy("C26000")
    drawn = (found.s > 5.0) & (found.s < 80.0)
    assert np.all(found.n_s[drawn] > 0.0)
    assert np.all(found.equivalent_strain[drawn] == 0.0)
    s, _, r, slope = mandrel()
    strain = (found.n_theta - metal.poisson_ratio * found.n_s) / (metal.youngs_modulus * 0.5)
    expected = found.slid * np.sin(np.interp(found.s, s, slope)) / np.interp(found.s, s, r)
    assert np.allclose(strain[drawn], expected[drawn], rtol=0.03, atol=1.0e-5)


def test_half_hard_springs_more_and_red_brass_less() -> None:
    usual = np.max(bell("C26000", "OS025", "full").gap)
    assert np.max(bell("C26000", "H02", "none").gap) > usual
    assert np.max(bell("C23000", "OS025", "full").gap) < usual
