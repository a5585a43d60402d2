"""A fault of passes toward the tail counts while the shop makes them, and is only told of once it has stopped."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from springfit.decisions.correction import Correction
from springfit.decisions.evidence import Fault
from springfit.decisions.verdict.discontinued_faults import without_discontinued
from springfit.decisions.verdict.questions import decide
from springfit.records.book import Book
from springfit.records.conditions import Conditions
from springfit.reporting.wording.correction_notes import notes_of
from tests.helpers.corrections.decisions_shop import case, evidence, forecaster, growing

NOW = Conditions(name="now", alloy="C26000", back_passes=0)
SWOLLEN = Fault(("A-1", "A-2", "A-3"), 8, 150.0, 210.0, 0.4)


def book(*, passes: tuple[float, float]) -> Book:
    """Two batches, A before B, with these passes toward the tail."""
    batches = pd.DataFrame({"batch_id": ["A", "B"], "back_passes": passes})
    bells = pd.DataFrame({"bell_id": ["A-1", "A-2", "A-3", "B-1"], "batch_id": ["A", "A", "A", "B"]})
    return cast(Book, SimpleNamespace(batches=batches, bells=bells))


def kept(passes: tuple[float, float], asked: Conditions, **more: Any) -> tuple[Fault, ...]:
    known = evidence(faults=(SWOLLEN,), latest_batches=("A", "B"), **more)
    return without_discontinued(known, book(passes=passes), asked).faults


def test_a_fault_of_passes_given_up_is_told_of_and_not_held_against_anything() -> None:
    known = evidence(faults=(SWOLLEN,), latest_batches=("A", "B"))
    told = without_discontinued(known, book(passes=(1, 0)), NOW)
    assert told.faults == ()
    assert told.discontinued == (SWOLLEN,)
    made_up = case(forecaster(growing(0.0)), told)
    correction = SimpleNamespace(
        case=made_up, forecast=SimpleNamespace(notes=()), verdict=decide(made_up).verdict, cuts_steel=False
    )
    (note,) = (note for note in notes_of(cast(Correction, correction), units="mm") if "newest batch" in note)
    assert "A-1 to A-3" in note and "swollen" in note


@pytest.mark.parametrize(
    ("passes", "asked"),
    [
        ((0, 0), NOW),  # no pass toward the tail is on record: what swelled the bells is still to be found
        ((np.nan, 0), NOW),
        ((1, 0), replace(NOW, back_passes=1)),  # asked for again
        ((1, 0), replace(NOW, back_passes=None)),
    ],
)
def test_otherwise_it_counts(passes: tuple[float, float], asked: Conditions) -> None:
    assert kept(passes, asked) == (SWOLLEN,)


def test_what_the_newest_batch_shows_counts_whatever_was_asked() -> None:
    fault = replace(SWOLLEN, bells=("A-1", "B-1"))
    known = evidence(faults=(fault,), latest_batches=("A", "B"))
    assert without_discontinued(known, book(passes=(1, 1)), NOW).faults == (fault,)
