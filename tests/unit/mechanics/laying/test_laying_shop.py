"""Shop words become inputs: order of hardness, of humps, of passes; unknown words refused."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.mechanics.laying.shop_words import SheetForm, flow_curve, laying_case, stand_off
from springfit.mechanics.metal.alloys import alloy

BRASS = alloy("C26000")


def starting_yield(*, temper: str | None = "OS025", anneal: str | None = "full", passes: int | None = 2) -> float:
    return flow_curve(BRASS, temper=temper, anneal=anneal, passes=passes, wall=0.5, nose_radius=8.0).yield_strength


def test_harder_tempers_and_more_passes_start_from_a_higher_yield() -> None:
    assert starting_yield() < starting_yield(temper="H01", anneal="none") < starting_yield(temper="H02", anneal="none")
    assert starting_yield(passes=1) < starting_yield(passes=2) < starting_yield(passes=4)


def test_a_full_anneal_forgets_the_temper_and_blank_passes_are_the_usual_two() -> None:
    assert starting_yield(temper="H02") == pytest.approx(starting_yield(temper="H04"))
    assert starting_yield(passes=None) == starting_yield(passes=2)


def test_fuller_humps_stand_off_further_and_a_gripped_rim_lies_nearly_on_the_steel() -> None:
    s = np.linspace(0.0, 136.0, 137)
    full = [stand_off(s, rim_radius=62.5, draw_end=45.0, hump=word) for word in ("none", "low", "good", "high")]
    assert np.all(np.diff([np.max(off) for off in full]) > 0.0)
    assert all(off[-1] == np.max(off) for off in full)
    forms = [SheetForm(rim_place=place) for place in (0.5, 0.65, 0.85)]
    rims = [stand_off(s, rim_radius=62.5, draw_end=45.0, hump="good", form=form)[-1] for form in forms]
    assert rims[0] > rims[1] > rims[2] and rims[2] < rims[0] / 4
    assert np.all(full[2][s <= 45.0] == 0.0)
    assert np.array_equal(stand_off(s, rim_radius=62.5, draw_end=45.0, hump=None), full[2])


def test_a_form_moves_a_hump_as_its_numbers_say() -> None:
    s = np.linspace(0.0, 136.0, 1361)

    def off(form: SheetForm) -> np.ndarray:
        return stand_off(s, rim_radius=62.5, draw_end=36.0, hump="good", form=form)

    usual = off(SheetForm(rim_place=0.8))
    np.testing.assert_allclose(off(SheetForm(further=np.log(2.0), rim_place=0.8)), 2.0 * usual)
    later = off(SheetForm(start=0.1, rim_place=0.8))
    assert s[np.flatnonzero(later)[0]] - s[np.flatnonzero(usual)[0]] == pytest.approx(10.0, abs=0.2)  # of 100 mm
    fullest = [s[np.argmax(off(SheetForm(rim_place=0.8, skew=skew)))] for skew in (-0.3, 0.0, 0.3)]
    assert fullest == sorted(fullest) and fullest[0] < fullest[2]


def test_a_stronger_form_has_its_whole_flow_curve_higher() -> None:
    s, still = np.linspace(0.0, 50.0, 51), np.zeros(51)
    weak, strong = (
        laying_case(s, s, still + 20.0, still, wall=0.5, metal=alloy("C26000"), form=SheetForm(stronger=ln)).curve
        for ln in (0.0, np.log(1.2))
    )
    assert strong.yield_strength == pytest.approx(1.2 * weak.yield_strength)
    assert strong.strength_coefficient == pytest.approx(1.2 * weak.strength_coefficient)
    assert strong.hardening_exponent == weak.hardening_exponent


def test_words_that_are_none_are_refused() -> None:
    s = np.linspace(0.0, 50.0, 51)
    with pytest.raises(ValueError, match="hump"):
        stand_off(s, rim_radius=60.0, draw_end=10.0, hump="huge")
    with pytest.raises(ValueError, match="passes"):
        starting_yield(passes=0)


def test_a_case_carries_what_the_shop_wrote() -> None:
    s = np.linspace(0.0, 50.0, 51)
    case = laying_case(
        s, s * np.cos(0.5), 10.0 + s * np.sin(0.5), np.full_like(s, 0.5),
        wall=0.6, metal=BRASS, draw_end=20.0, nose_radius=5.0,
    )  # fmt: skip
    assert (case.wall, case.nose_radius, case.spin_start) == (0.6, 5.0, 20.0)
    assert case.curve.youngs_modulus == BRASS.youngs_modulus
