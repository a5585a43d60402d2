"""Invented shops do what their story says, by the truth that only the test may see."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from springfit.demo.keeping.book_sheets import added, write_book
from springfit.demo.many_shops import SLIDE_MM, Story, make_shop, planted_shape, spin_batch
from springfit.demo.shop import Shop, true_error, true_gap
from springfit.demo.spinning.families import BellLine
from springfit.demo.spinning.process import SWELLING_MM
from springfit.demo.spinning.spun import BatchEffects
from springfit.findings import BookError
from springfit.records import read_book

TWO_MICRONS, TEN_MICRONS = 0.002, 0.010
PLANTED_MM = 0.12


@cache
def _shop(story: Story) -> Shop:
    return make_shop(5, batches=2, mandrels=1, bells=3, story=story, steel_error_mm=PLANTED_MM)


def _steel(shop: Shop) -> BellLine:
    return shop.mandrels["M1"].revisions[-1].line


def _error(shop: Shop) -> tuple[np.ndarray, np.ndarray]:
    line = _steel(shop)
    return true_error(shop, "M1-T", line.z[::4], 2 * line.r[::4], shop.mandrels["M1"].habit)


def _gap(shop: Shop, **conditions: object) -> np.ndarray:
    line = _steel(shop)
    recipe = replace(shop.mandrels["M1"].habit, **conditions)  # type: ignore[arg-type]
    return true_gap(shop, line.z[::4], 2 * line.r[::4], recipe).gap


def test_one_seed_is_one_shop_and_another_another() -> None:
    first, again, other = (make_shop(seed, batches=2, mandrels=1, bells=2) for seed in (3, 3, 4))
    for name, frame in first.tables.items():
        assert frame.equals(again.tables[name])
    assert not first.tables["measurements"].equals(other.tables["measurements"])


def test_right_steel_gives_the_target() -> None:
    _, error = _error(_shop("right"))
    assert np.abs(error).max() < TWO_MICRONS


def test_planted_steel_shows_as_error_of_its_shape() -> None:
    shop = _shop("steel")
    arcs, error = _error(shop)
    planted = PLANTED_MM * np.interp(arcs, _steel(shop).s, planted_shape(_steel(shop)))
    assert np.abs(error - planted).max() < TEN_MICRONS
    assert error.max() == pytest.approx(PLANTED_MM, abs=TEN_MICRONS)


def test_taking_the_planted_steel_off_mends_the_bell() -> None:
    shop = _shop("steel")
    line = _steel(shop)
    cut = line.moved_along_normal(-PLANTED_MM * planted_shape(line))
    _, error = true_error(shop, "M1-T", cut.z[::4], 2 * cut.r[::4], shop.mandrels["M1"].habit)
    assert np.abs(error).max() < TEN_MICRONS


def test_a_slid_target_leaves_only_a_slide() -> None:
    shop = _shop("slide")
    arcs, error = _error(shop)
    slope = np.interp(arcs, shop.targets["M1-T"].line.s, shop.targets["M1-T"].line.slope)
    assert np.abs(error + SLIDE_MM * np.sin(slope)).max() < TWO_MICRONS
    assert error.min() < -0.2


def test_passes_toward_the_tail_swell_the_throat_and_nothing_else() -> None:
    shop = _shop("right")
    swollen = _gap(shop, back_passes=1) - _gap(shop)
    assert swollen.max() == pytest.approx(SWELLING_MM, abs=TEN_MICRONS)
    assert np.abs(swollen[-40:]).max() < TWO_MICRONS
    assert (shop.tables["batches"]["back_passes"] == 0).all()
    assert (_shop("back_pass").tables["batches"]["back_passes"] == 1).all()


def test_metal_without_spring_lies_on_its_steel() -> None:
    shop = make_shop(5, batches=1, mandrels=1, bells=2, story="right", spring=0.0)
    assert np.abs(_gap(shop)).max() < 1e-9


@pytest.mark.parametrize(
    ("more", "less"),
    [
        ({"temper": "H02", "anneal": "none"}, {"temper": "OS035", "anneal": "full"}),
        ({"alloy": "C26000"}, {"alloy": "C23000"}),
        ({"hump": "high"}, {"hump": "none"}),
    ],
)
def test_what_springs_more_in_the_trade_springs_more_here(more: dict[str, str], less: dict[str, str]) -> None:
    shop = _shop("right")
    assert _gap(shop, **more)[-1] > 1.1 * _gap(shop, **less)[-1]


def test_batch_effects_move_the_gap_and_none_are_hidden_in_the_truth() -> None:
    shop = _shop("right")
    line, habit = _steel(shop), shop.mandrels["M1"].habit
    plain = true_gap(shop, line.z[::4], 2 * line.r[::4], habit)
    twice = true_gap(shop, line.z[::4], 2 * line.r[::4], habit, batch=BatchEffects(strength=2.0))
    assert np.allclose(twice.gap, 2.0 * plain.gap, atol=1e-9)
    tilted = true_gap(shop, line.z[::4], 2 * line.r[::4], habit, batch=BatchEffects(tilt=0.3))
    assert tilted.gap[-1] > plain.gap[-1] + TWO_MICRONS


def test_a_spun_batch_joins_the_book(tmp_path) -> None:  # type: ignore[no-untyped-def]
    shop = _shop("steel")
    line = _steel(shop)
    rows = spin_batch(shop, "M1", line.z[::10], 2 * line.r[::10], {"wall_mm": 0.5}, n_bells=3)
    write_book(added(shop.tables, rows), tmp_path, units=shop.units)
    try:
        book, _ = read_book(tmp_path)
    except BookError as problem:
        pytest.fail("\n".join(finding.line() for finding in problem.findings))
    assert len(book.bells) == 2 * 3 + 3
    assert book.batches["revision"].iloc[-1] == 1
    assert set(book.measurements["bell_id"]) == set(book.bells["bell_id"])


def test_conditions_left_blank_follow_the_shop_s_habit() -> None:
    shop = _shop("right")
    line, habit = _steel(shop), shop.mandrels["M1"].habit
    blank = true_gap(shop, line.z[::4], 2 * line.r[::4], {"temper": None, "hump": float("nan")})
    full = true_gap(shop, line.z[::4], 2 * line.r[::4], habit)
    assert np.array_equal(blank.gap, full.gap)
