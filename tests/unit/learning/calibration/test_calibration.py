"""The hand of a shop found from curves that sheet laid by a known hand leaves: is it given back?

Curves are laid more finely than the search lays; that laying itself is right is held to finite elements elsewhere
(`test_laid_bells`).
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from springfit.geometry.meridian import Meridian, meridian_from_stations
from springfit.learning.basis.hand import AS_ASSUMED, FORM_NUMBERS, RIM_AT_TOP, Hand, form_of, form_rows
from springfit.learning.basis.laid_state import COLUMNS, sheet_on_steel
from springfit.learning.calibration.hand_search import found_hand
from springfit.learning.calibration.shown_curves import ShownCurve, shown_curves
from springfit.mechanics.laying.laying_down import lay
from springfit.mechanics.laying.shop_words import SheetForm
from springfit.records.conditions import Conditions
from springfit.records.reading import read_book
from tests.helpers.books.small_book import drawn, sheets, write

HANDS = Hand(further=-0.4, hump=0.1, start=0.03, rim=1.4, skew=-0.25, stronger=0.1, temper=-0.2, anneal=0.2)
READ_TO = 0.05  # of a curve's rms: how well bells show it
HALF = 0.5
SEEN = [
    Conditions("a", "C26000", temper="OS035", wall_mm=0.5, anneal="full", draw_end_mm=150.0, hump="good", passes=2),
    Conditions("b", "C26000", temper="OS015", wall_mm=0.5, anneal="none", draw_end_mm=150.0, hump="low", passes=3),
    Conditions("c", "C23000", temper="OS050", wall_mm=0.6, anneal="full", draw_end_mm=155.0, hump="high", passes=1),
]
ASKED = Conditions("d", "C26000", temper="OS025", wall_mm=0.45, draw_end_mm=150.0, hump="good", passes=2)


@cache
def steel() -> Meridian:
    z = np.linspace(0.0, 200.0, 401)
    return meridian_from_stations(z, 16.0 + 60.0 * np.exp((z - 200.0) / 22.0), diameter_error=0.0)


def gap(conditions: Conditions, hand: Hand, arc: np.ndarray) -> np.ndarray:
    laid = lay(sheet_on_steel(steel(), conditions, hand.form(conditions)), fineness=COLUMNS)
    return np.interp(arc, laid.s, laid.gap)


def shown(conditions: Conditions, factor: float = 1.0) -> ShownCurve:
    arc = np.linspace(0.75 * steel().length, steel().length - 1.0, 14)
    curve = factor * gap(conditions, HANDS, arc)
    return ShownCurve(steel(), conditions, arc, curve, np.eye(14) / (READ_TO * np.sqrt(np.mean(curve**2))), None)


def off(hand: Hand, conditions: Conditions) -> float:
    arc = shown(conditions).arc
    return float(np.sqrt(np.mean((gap(conditions, hand, arc) - gap(conditions, HANDS, arc)) ** 2)))


def test_the_hand_that_laid_the_sheet_forecasts_a_bell_that_it_was_not_shown() -> None:
    found = found_hand([shown(one) for one in SEEN])
    assert form_of(form_rows(ASKED) @ found.numbers).rim_place > 0.7  # 0.8 was laid, 0.5 is assumed
    assert off(found, ASKED) < HALF * off(AS_ASSUMED, ASKED)


def test_without_bells_a_hand_is_as_assumed() -> None:
    assert found_hand([]) == AS_ASSUMED
    assert AS_ASSUMED.form(SEEN[0]) == SheetForm(rim_place=pytest.approx(0.5))  # type: ignore[arg-type]


def test_a_bell_whose_finished_rim_is_blank_is_laid_to_its_end(tmp_path: Path) -> None:
    """What a maker leaves blank is as the blank was cut: nothing is trimmed, and the search goes through."""
    rows = drawn(sheets())
    column = rows["batches.csv"][0].index("finished_rim_mm")
    for row in rows["batches.csv"][1:]:
        row[column] = ""
    book, findings = read_book(write(tmp_path / "book", rows))
    curves = shown_curves(book, findings)
    assert curves and all(curve.trim_at is None for curve in curves)
    assert found_hand(curves[:1]) != AS_ASSUMED


def test_words_and_features_act_as_said() -> None:
    rows = form_rows(SEEN[1])
    assert rows.shape == (FORM_NUMBERS, len(HANDS.numbers))
    form = Hand(hump=1.0, anneal=0.3, rim=RIM_AT_TOP + 1.0).form(SEEN[1])
    assert form.further == pytest.approx(np.log(0.8 / 1.5))  # a low hump counted twice
    assert form.stronger == pytest.approx(0.3)  # not annealed at all: the whole of it
    assert 0.5 < form.rim_place < 0.95


def test_numbers_go_there_and_back() -> None:
    assert Hand.of(HANDS.numbers) == HANDS
