"""The verdicts with the real learner, on invented shops whose right answer is known."""

from __future__ import annotations

from dataclasses import fields, replace
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
import pytest

from springfit.decisions.correction import Correction, correct
from springfit.decisions.job import job_from_book
from springfit.decisions.need.inverse import bell_error
from springfit.decisions.verdict.blanks import blank_columns
from springfit.demo.keeping.book_sheets import added
from springfit.demo.many_shops import make_shop, spin_batch
from springfit.demo.shop import Shop
from springfit.demo.spinning.families import with_dishes
from springfit.demo.spinning.spun import BatchEffects
from springfit.geometry.meridian import meridian_from_stations
from springfit.reporting.wording.reason_wording import reason_words
from tests.helpers.programs.closed_loop import MANDREL, SPUN, TARGET, cut_of, habit, learned

HALF_A_THOU, THOU = 0.013, 0.025  # mm
TWO_MICRONS, NOTHING = 0.002, 1e-6
MORE = pytest.mark.benchmark  # the same on further seeds
FEW, MANY = 1, 100  # a shop is laid and learned for each: a minute where every batch is another sheet
LARGE = {"batches": 6, "mandrels": 2}
ONE_SHEET = {"batches": 4, "mandrels": 1, "steady": True, "blanks": 0.0}  # one laying for all batches: seconds
RING_MM, RING_LONG_MM = 0.08, 38.0
RUN_OUT_MM = 25.0  # of arc: a cut 0.2 mm deep beside steel that stays ramps over 20


def told_of(shop: Shop, tables: dict[str, Any] | None = None, **more: Any) -> Correction:
    """The correction of the first mandrel under its habit."""
    known, book = learned(shop.tables if tables is None else tables, shop.units)
    return correct(known, book, TARGET, conditions=habit(shop), **more)


def small_shops(seeds: int, **more: Any) -> list[Shop]:
    """Shops of random size; of one sheet where they are few."""
    if seeds < MANY:
        return [make_shop(seed, **ONE_SHEET, **more) for seed in range(seeds)]
    made = []
    for seed in range(seeds):
        rng = np.random.default_rng([seed, 79])
        made.append(make_shop(seed, batches=int(rng.integers(4, 9)), mandrels=int(rng.integers(1, 3)), **more))
    return made


@pytest.mark.parametrize("seeds", [3, pytest.param(MANY, marks=pytest.mark.benchmark)])  # a median takes three
def test_only_slid_and_evenly_sprung_bells_are_slid_and_not_cut(seeds: int) -> None:
    told = [told_of(shop) for shop in small_shops(seeds, story="slide")]
    good = [one.verdict.verdict == "slide" and cut_of(one).max() <= THOU for one in told]
    assert np.mean(good) >= 0.95
    # the target lies 0.3 mm nearer the tail
    assert np.median([one.verdict.slide_mm for one in told]) == pytest.approx(-0.3, abs=0.06)


@pytest.mark.parametrize("seeds", [FEW, pytest.param(MANY, marks=pytest.mark.benchmark)])
def test_where_there_is_only_noise_the_steel_is_left(seeds: int) -> None:
    told = [told_of(shop) for shop in small_shops(seeds, story="right", spring=0.0)]
    assert not any(cut_of(one).any() for one in told)
    # seats alone can look like a slide just past the tolerance: never cut for, but not always left
    assert np.mean([one.verdict.verdict == "leave" for one in told]) >= 0.95


def humped(seed: int, *, back_passes: int, **size: Any) -> tuple[Shop, dict[str, Any]]:
    """A shop with steel 0.2 mm too large and one batch more of ten bells, the first four of which were passed back
    toward the tail though no sheet says so (a swelling of 0.42 mm)."""
    shop = make_shop(seed, **size, steel_error_mm=0.2)
    line, effects = shop.mandrels[MANDREL].revisions[-1].line, BatchEffects.drawn(np.random.default_rng(seed))
    swollen, sound = (
        spin_batch(
            shop, MANDREL, line.z[::4], 2 * line.r[::4], replace(habit(shop), back_passes=passes),
            batch_id="N1", revision=0, n_bells=bells, seed=bells, effects=effects,
        )
        for passes, bells in ((back_passes, 4), (0, 6))
    )  # fmt: skip
    for name in ("bells", "measurements"):
        sound[name]["bell_id"] = sound[name]["bell_id"].str.replace("N1-", "N1-1")
    rows = {name: pd.concat([swollen[name], sound[name]], ignore_index=True) for name in SPUN[1:]}
    return shop, added(shop.tables, {**rows, "batches": sound["batches"]})


@pytest.mark.parametrize(
    ("seed", "size"), [(0, ONE_SHEET), *(pytest.param(seed, LARGE, marks=MORE) for seed in (0, 1, 4))]
)
def test_a_throat_hump_in_four_of_ten_bells_is_the_process_and_moves_nothing_elsewhere(
    seed: int, size: dict[str, Any]
) -> None:
    told, sound = (told_of(*humped(seed, back_passes=passes, **size)) for passes in (1, 0))
    assert sound.verdict.verdict == "recut"
    assert told.verdict.verdict == "process"
    (fault,) = told.case.evidence.habits
    assert set(fault.bells) == {"N1-01", "N1-02", "N1-03", "N1-04"}
    s = told.stations["s_mm"].to_numpy()
    throat = (s >= fault.s_from_mm) & (s <= fault.s_to_mm)
    assert throat.any() and not cut_of(told)[throat].any()
    elsewhere = (s < fault.s_from_mm - RUN_OUT_MM) | (s > fault.s_to_mm + RUN_OUT_MM)
    moved = np.abs(cut_of(told) - cut_of(sound))[elsewhere]
    assert cut_of(sound)[elsewhere].max() > THOU
    assert moved.max() <= HALF_A_THOU


def ringed(seed: int, **size: Any) -> tuple[Shop, dict[str, Any]]:
    """A right shop whose steel was then turned too small in a ring on the flare, and three batches spun on it."""
    shop = make_shop(seed, **size, story="right")
    line = shop.mandrels[MANDREL].revisions[-1].line
    low = with_dishes(line, ((0.8 * line.length, RING_LONG_MM, RING_MM),))
    tables = shop.tables
    for number in (1, 2, 3):
        rows = spin_batch(
            shop, MANDREL, low.z[::4], 2 * low.r[::4], habit(shop),
            batch_id=f"N{number}", spun_on=f"2025-06-{2 + number:02d}", seed=number,
        )  # fmt: skip
        tables = added(tables, rows if number == 1 else {name: rows[name] for name in SPUN})
    return shop, tables


def allowing(tables: dict[str, Any], slide_mm: float) -> dict[str, Any]:
    """The same book, its targets allowing another slide."""
    return {**tables, "targets": tables["targets"].assign(slide_mm=slide_mm)}


@pytest.mark.parametrize(
    "size", [ONE_SHEET, pytest.param({"batches": 4, "mandrels": 2}, marks=MORE)], ids=["one sheet", "more"]
)
def test_a_ring_turned_too_small_asks_for_a_new_flare_or_a_stated_move(size: dict[str, Any]) -> None:
    shop, tables = ringed(0, **size)
    known, book = learned(tables, shop.units)  # which no target has a say in
    fixed, free = (
        correct(known, replace(book, targets=book.targets.assign(slide_mm=slide)), TARGET, conditions=habit(shop))
        for slide in (0.0, 0.5)
    )
    assert fixed.verdict.verdict == "new_flare" and not cut_of(fixed).any()
    assert free.verdict.verdict == "recut" and -0.5 <= free.verdict.slide_mm < -0.1
    assert f"turned {-free.verdict.slide_mm:.3f} mm further toward the rim" in reason_words(free.verdict.reason, "mm")


@pytest.mark.parametrize("seed", [0, pytest.param(2, marks=MORE)])
def test_two_scattered_batches_wait_for_a_number_of_more(seed: int) -> None:
    """Steel and scatter of about the tolerance, and no slide allowed: two batches do not say whether to cut."""
    shop = make_shop(seed, batches=2, mandrels=1, spread=2.0, steel_error_mm=0.05)
    told = told_of(shop, allowing(shop.tables, 0.0))
    assert told.verdict.verdict == "wait" and not cut_of(told).any()
    assert told.verdict.more_batches is not None and 1 <= told.verdict.more_batches <= 20
    assert str(told.verdict.more_batches) in reason_words(told.verdict.reason, "mm")


@cache
def large_shop(seed: int | None) -> tuple[Shop, Any, Any]:
    """A shop with steel 0.2 mm too large, its model and its book; None: a shop of one sheet."""
    shop = make_shop(seed or 0, **(ONE_SHEET if seed is None else LARGE), steel_error_mm=0.2)
    return shop, *learned(shop.tables, shop.units)


@pytest.mark.parametrize("seed", [None, *(pytest.param(seed, marks=MORE) for seed in range(3))])
def test_equal_costs_cut_more_than_ten_to_one(seed: int | None) -> None:
    shop, known, book = large_shop(seed)
    even, cautious = (
        cut_of(correct(known, book, TARGET, conditions=habit(shop), cost_ratio=ratio))
        for ratio in (1.0, 10.0)
    )
    assert np.all(even >= cautious - 1e-9)
    assert even.max() > cautious.max() > THOU


@pytest.mark.parametrize("seed", [pytest.param(seed, marks=MORE) for seed in range(3)])  # minutes: all is laid anew
def test_blanking_a_column_never_cuts_more(seed: int) -> None:
    shop, known, book = large_shop(seed)
    sheet, usual = book.conditions(book.newest_batch(MANDREL)), habit(shop)
    unwritten = blank_columns(sheet)  # filled in here, so that one column at a time is blank
    asked = replace(sheet, **{name: getattr(usual, name) for name in unwritten})
    written = correct(known, book, TARGET, conditions=asked)
    assert cut_of(written).max() > THOU
    slope = job_from_book(book, TARGET).mandrel.slope
    columns = {field.name for field in fields(asked)} - {"name", "alloy", *unwritten}
    for name in sorted(columns):
        blank = correct(known, book, TARGET, conditions=replace(asked, **{name: None}))
        one, other = blank.new_line, written.new_line  # the same stations, moved along the same normals
        deeper = (one.z - other.z) * np.sin(slope) - (one.r - other.r) * np.cos(slope)
        assert np.max(deeper) <= NOTHING, name


@pytest.mark.parametrize("seed", [None, *(pytest.param(seed, marks=MORE) for seed in range(2))])
def test_correct_then_predict_returns_the_target(seed: int | None) -> None:
    shop, known, book = large_shop(seed)
    told = correct(known, book, TARGET, conditions=habit(shop))
    rows = told.stations
    # as it would be read back from the table: sizes at stations to a tenth of a micron
    wanted = meridian_from_stations(
        rows["z_mm"].round(4).to_numpy(), rows["diameter_mm"].round(4).to_numpy(), diameter_error=0.0
    )
    target = meridian_from_stations(*book.target_profile_of(TARGET), diameter_error=0.006)
    error = bell_error(wanted, target, known.forecast(wanted, habit(shop)))
    judged = ~rows["masked"].to_numpy(bool)
    within = (wanted.s >= rows["s_mm"][judged].min() + 1.0) & (wanted.s <= rows["s_mm"][judged].max() - 1.0)
    assert np.nanmax(np.abs(error[within])) <= TWO_MICRONS
