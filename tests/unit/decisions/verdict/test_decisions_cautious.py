"""How much to take now: quantile, never adding, run-out, and what the masks leave alone."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from scipy.stats import norm

from springfit.decisions.cut_tables.turning_sizes import at_end_face
from springfit.decisions.evidence import Fault
from springfit.decisions.need.masking import fill_masked, find_masks
from springfit.decisions.verdict.cautious import (
    WORTHWHILE_MM,
    cautious_cut,
    cost_quantile,
    default_cost_ratio,
    run_out,
)
from springfit.geometry.meridian import offset
from tests.helpers.corrections.decisions_shop import horn, ring

S = np.arange(0.0, 320.5, 0.5)
OPEN = (S >= 5.0) & (S <= 310.0)
MANY = 1e6  # degrees of freedom: normal
HORN = horn()


def cut(need: np.ndarray, sd: float, *, ratio: float = 10.0) -> np.ndarray:
    quantile = cost_quantile(ratio)
    return cautious_cut(S, need, np.full(S.size, sd), OPEN, quantile=quantile, degrees_of_freedom=MANY)


def test_the_quantile_is_the_cheapest_cut_by_counting_costs() -> None:
    """Newsvendor: for a normal need the mean cost of 1 a mm left and 10 a mm too far is least at 10/11."""
    needs = norm.ppf((np.arange(20000) + 0.5) / 20000, loc=0.2, scale=0.05)
    cuts = np.linspace(0.05, 0.3, 501)
    cost = [np.mean(np.maximum(needs - c, 0) + 10.0 * np.maximum(c - needs, 0)) for c in cuts]
    cheapest = cuts[int(np.argmin(cost))]
    assert cheapest == pytest.approx(0.2 - norm.ppf(cost_quantile(10.0)) * 0.05, abs=0.001)


def test_ratio_by_finish() -> None:
    assert [default_cost_ratio(f) for f in (None, "bare", "plated_matte", "plated_bright")] == [
        10,
        10,
        20,
        20,
    ]
    with pytest.raises(ValueError, match="expected 1 or more"):
        cost_quantile(0.5)


def test_the_chance_of_cutting_too_far_is_one_in_eleven() -> None:
    random = np.random.default_rng(3)
    need = ring(S, at=200.0, length=160.0, depth=0.3)
    taken = cut(need, 0.03)
    deepest = int(np.argmax(taken))
    truth = need[deepest] + 0.03 * random.standard_normal(20000)
    assert np.mean(taken[deepest] > truth) == pytest.approx(1 / 11, abs=0.006)


def test_never_adds_and_drops_what_is_not_worthwhile() -> None:
    assert not cut(np.full(S.size, -0.1), 0.01).any()
    assert not cut(ring(S, at=200.0, length=80.0, depth=0.9 * WORTHWHILE_MM), 1e-6).any()
    assert cut(ring(S, at=200.0, length=80.0, depth=1.3 * WORTHWHILE_MM), 1e-6).any()


@pytest.mark.parametrize(("valley", "low_one_turned"), [(0.0, False), (0.2, False), (0.8, True)])
def test_a_low_stretch_that_hardly_hangs_on_a_deeper_one_is_not_turned_for_it(
    valley: float, low_one_turned: bool
) -> None:
    """In parts of what is worth setting up for: a rise of nine tenths, a valley, then a cut of four."""
    knots = np.array([0.0, 0.9, valley, 4.0, 0.0]) * WORTHWHILE_MM
    taken = cut(np.interp(S, [60.0, 110.0, 150.0, 220.0, 290.0], knots), 1e-9)
    assert bool(taken[S < 140.0].any()) is low_one_turned
    assert taken.max() == pytest.approx(4.0 * WORTHWHILE_MM, rel=0.02)


@pytest.mark.parametrize("depth", [0.05, 0.1, 0.3, 0.5])
def test_runs_out_over_twelve_mm_or_a_hundred_depths(depth: float) -> None:
    """A square-ended need: the cut rises no faster than its depth over the run-out."""
    need = np.where((S > 100) & (S < 250), depth, 0.0)
    taken = cut(need, 1e-9)
    steepest = np.max(np.abs(np.diff(taken)) / np.diff(S))
    assert taken.max() == pytest.approx(depth, rel=1e-3)
    assert steepest <= min(depth / 12.0, 0.01) * 1.001
    assert not taken[(S <= 100) | (S >= 250)].any()


def test_is_carried_off_the_rim_without_a_run_out() -> None:
    need = np.where(S > 200, 0.2, 0.0)
    taken = cut(need, 1e-9)
    assert taken[-1] == pytest.approx(0.2, rel=1e-3)
    assert taken[S > 290] == pytest.approx(0.2, rel=1e-3)


def test_the_tail_nose_is_not_cut() -> None:
    taken = cut(np.full(S.size, 0.1), 1e-9)
    assert not taken[S < 5.0].any()


@settings(max_examples=60, deadline=None)
@given(
    some.lists(some.floats(-0.3, 0.6), min_size=6, max_size=6),
    some.floats(0.001, 0.1),
    some.floats(1.0, 4.0),
    some.floats(1.0, 3.0),
)
def test_wider_bands_and_dearer_errors_never_cut_more(
    knots: list[float], sd: float, wider: float, dearer: float
) -> None:
    need = np.interp(S, np.linspace(0, 320, 6), knots)
    now = cut(need, sd)
    assert np.all(cut(need, sd * wider) <= now + 1e-12)
    assert np.all(cut(need, sd, ratio=10.0 * dearer) <= now + 1e-12)
    assert np.all(now >= 0.0) and np.all(now[:-1] <= np.maximum(need, 0.0)[:-1].max() + 1e-12)


def test_nothing_open_nothing_cut() -> None:
    assert not run_out(S, np.ones(S.size), np.zeros(S.size, dtype=bool)).any()
    assert not fill_masked(S, np.ones(S.size), np.zeros(S.size, dtype=bool)).any()


def test_masks_name_their_reason() -> None:
    fault = Fault(("A", "B"), 4, 150.0, 170.0, 0.4)
    masks = find_masks(HORN, HORN, rim_mm=300.0, beaded=True, faults=(fault,), joint_mm=(100.0, 104.0))
    place = {name: HORN.s[getattr(masks, name)] for name in ("nose", "rim", "fault", "joint")}
    assert place["nose"].max() < 5.0
    left_for_a_bead = np.interp(300.0, HORN.s, HORN.r) - HORN.r[masks.rim].min()  # a quarter inch of radius
    assert left_for_a_bead == pytest.approx(6.35, abs=0.5 * np.sin(HORN.slope[-1]))
    assert (place["fault"].min(), place["fault"].max()) == pytest.approx((150.0, 170.0), abs=0.6)
    assert (place["joint"].min(), place["joint"].max()) == pytest.approx((100.0, 104.0), abs=0.6)
    assert np.all(masks.open == ~(masks.nose | masks.rim | masks.fault | masks.joint | masks.no_data))


def test_a_filled_mask_dies_away_inside_and_is_carried_at_the_rim() -> None:
    rows = OPEN & ~((S > 150) & (S < 220))
    filled = fill_masked(S, np.full(S.size, 0.1), rows)
    assert filled[rows] == pytest.approx(0.1)
    assert np.max(np.abs(filled[(S > 170) & (S < 200)])) < 1e-9
    assert filled[-1] == pytest.approx(0.1)
    assert np.max(np.abs(np.diff(filled[(S >= 150) & (S <= 220)]) / 0.5)) < 2.0 * 0.1 / 12.0


def test_a_filled_mask_makes_no_crease() -> None:
    """Second differences at the edges of the masks stay those of a smooth removal, whatever its slope there."""
    rows = OPEN & ~((S > 150) & (S < 240))
    removal = 0.3 * (S / 310.0) ** 3
    filled = fill_masked(S, removal, rows)
    kinks = np.abs(np.diff(filled, 2)) / 0.5  # change of slope from step to step
    assert kinks.max() < 0.002
    plain = np.where(rows, removal, 0.0)
    plain[S > 310] = removal[S <= 310][-1]
    assert (np.abs(np.diff(plain, 2)) / 0.5).max() > 0.005  # without the care there would be one


def test_a_mask_shorter_than_a_run_out_is_no_spike() -> None:
    """Two stations where bells and forecast disagree stood as high as the steel around them was to be cut: a ridge
    whose slope no shell could be meshed on, and `correct` ended there."""
    rows = OPEN & ~((S > 200) & (S < 201.5))
    removal = 0.15 + 0.001 * (S - 200.0)
    filled = fill_masked(S, removal, rows)
    among = (S > 190) & (S < 212)
    assert filled[among] == pytest.approx(removal[among], abs=1e-12)


def test_the_steel_ends_at_its_face_however_deep_the_rim_is_cut() -> None:
    moved = offset(HORN, -0.3)
    ended = at_end_face(moved, float(HORN.z[-1]))
    assert moved.z[-1] > HORN.z[-1]
    assert ended.z[-1] == pytest.approx(HORN.z[-1], abs=1e-6)
    assert ended.r[-1] < HORN.r[-1]
    kept = min(ended.s.size, moved.s.size) - 1
    assert np.array_equal(ended.s[:kept], moved.s[:kept])
    assert at_end_face(HORN, float(HORN.z[-1]) + 1.0) is HORN
