"""Changes joined from each alone: exact where they add, marked as joined, what is not known yet left out by name."""

from __future__ import annotations

import numpy as np
import pytest

from springfit.bench.asking.joined_changes import Changes, ToldBell, joined
from springfit.bench.shop_numbers import shop_number, unit_of_reading

Z = np.linspace(0.0, 300.0, 50)
ANNEAL, PASSES, FLARE = ("anneal", "none"), ("passes", "4"), ("flare", "0.5")


PRESENT = 0.3  # gap of the present bell at the rim


def bell(gap: float, half: float = 0.1, z: np.ndarray = Z, change_half: float = 0.05) -> ToldBell:
    """A bell whose gap grows evenly to `gap` at the rim."""
    along = (z - z[0]) / (z[-1] - z[0])
    change, known = (gap - PRESENT) * along, change_half * along
    return ToldBell(z, gap * along, gap * along - half, gap * along + half, change, known)


def known(**more: ToldBell) -> dict[Changes, ToldBell]:
    """The present bell, and single changes by name."""
    by_name = {"anneal": ANNEAL, "passes": PASSES, "flare": FLARE}
    alone: dict[Changes, ToldBell] = {frozenset({by_name[name]}): told for name, told in more.items()}
    return {frozenset(): bell(PRESENT, change_half=0.0), **alone}


def test_nothing_is_said_before_the_present_bell_is_known() -> None:
    assert joined({frozenset({ANNEAL}): bell(0.5)}, frozenset({PASSES})) is None


def test_the_present_and_what_was_worked_out_whole_are_exact() -> None:
    both = frozenset({ANNEAL, PASSES})
    told = {**known(anneal=bell(0.5), passes=bell(0.4)), both: bell(0.9)}
    for changes, rim in ((frozenset(), 0.3), (frozenset({ANNEAL}), 0.5), (both, 0.9)):
        answer = joined(told, changes)
        assert answer is not None and answer.exact and answer.bell.gap[-1] == pytest.approx(rim)


def test_two_changes_add_and_say_so() -> None:
    answer = joined(known(anneal=bell(0.5), passes=bell(0.4)), frozenset({ANNEAL, PASSES}))
    assert answer is not None and not answer.exact and not answer.missing
    assert answer.bell.gap[-1] == pytest.approx(0.3 + 0.2 + 0.1)
    assert answer.bell.gap[0] == 0.0


def test_the_band_is_the_widest_of_its_parts() -> None:
    answer = joined(known(anneal=bell(0.5, 0.4), passes=bell(0.4, 0.05)), frozenset({ANNEAL, PASSES}))
    assert answer is not None
    np.testing.assert_allclose(answer.bell.high - answer.bell.gap, 0.4)
    np.testing.assert_allclose(answer.bell.gap - answer.bell.low, 0.4)


def test_the_bands_of_joined_differences_add() -> None:
    answer = joined(known(anneal=bell(0.5), passes=bell(0.4, change_half=0.02)), frozenset({ANNEAL, PASSES}))
    assert answer is not None
    assert answer.bell.change[-1] == pytest.approx(0.3) and answer.bell.change_half[-1] == pytest.approx(0.07)


def test_what_is_not_known_yet_is_left_out_by_name() -> None:
    answer = joined(known(anneal=bell(0.5)), frozenset({ANNEAL, PASSES}))
    assert answer is not None and answer.missing == (PASSES,)
    assert answer.bell.gap[-1] == pytest.approx(0.5)


def test_a_moved_flare_is_compared_at_the_same_share_of_its_length() -> None:
    answer = joined(known(flare=bell(0.3, z=Z * 1.01), anneal=bell(0.5)), frozenset({ANNEAL, FLARE}))
    assert answer is not None
    np.testing.assert_allclose(answer.bell.gap, bell(0.5).gap, atol=1e-12)


@pytest.mark.parametrize(
    ("value_mm", "unit", "said"),
    [(60.325, "in", "2-3/8"), (6.35, "in", "1/4"), (25.4, "in", "1"), (0.4572, "in", "0.018"), (-3.175, "in", "-1/8"),
     (12.7, "mm", "12.7"), (0.0254, "thou", "1"), (float("nan"), "mm", "")],
)  # fmt: skip
def test_lengths_are_said_as_a_shop_says_them(value_mm: float, unit: str, said: str) -> None:
    assert shop_number(value_mm, unit) == said


def test_feelers_are_read_in_thou_where_the_book_is_in_inches() -> None:
    assert [unit_of_reading(kind, "in") for kind in ("clearance", "wall")] == ["thou", "in"]
    assert unit_of_reading("clearance", "mm") == "mm"
