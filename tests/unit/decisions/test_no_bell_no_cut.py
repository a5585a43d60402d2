"""With mechanics alone, or bells of other mandrels, and no bell of this one: no cut, no new flare, the reason said."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from springfit import correct, fit, read_book
from springfit.decisions.bells.bell_support import no_support, support_of
from springfit.decisions.bells.own_bells import no_bells
from springfit.decisions.correction import Correction
from springfit.decisions.evidence import Fault
from springfit.decisions.verdict.decision_case import Case
from springfit.decisions.verdict.questions import decide
from springfit.decisions.verdict.reasons import NeverMeasured
from springfit.learning.model import SpringModel
from springfit.learning.versions.model_file import FORMAT
from springfit.learning.versions.store import ModelStore
from springfit.reporting.wording.reason_wording import reason_words
from tests.helpers.books.small_book import Sheets, sheets, write
from tests.helpers.corrections.decisions_shop import case, evidence, forecaster, growing, horn, ring
from tests.helpers.programs.kept_model import DATA, NAMED

PROUD_MM = 0.6  # of diameter: steel that every forecast would have cut
SURE_MM = 0.004
FORECASTS = {
    "larger": growing(0.4), "smaller": growing(-0.4),
    "ring": lambda s: ring(s, at=240.0, length=80.0, depth=0.3),
}  # fmt: skip


def asked(name: str) -> Case:
    """A case as surely known as can be, whose mandrel was never spun on by this book."""
    made = case(forecaster(FORECASTS[name], sd=SURE_MM), evidence(), allowance=0.0)
    return replace(made, trusted=np.full(made.mandrel.s.size, True))


@pytest.mark.parametrize(("forecast", "else_told"), [("larger", "recut"), ("ring", "recut"), ("smaller", "new_flare")])
def test_no_steel_is_judged_before_a_bell_was_read(forecast: str, else_told: str) -> None:
    alone = asked(forecast)
    assert decide(alone).verdict.verdict == else_told  # what the forecast by itself would have ordered
    nobody = support_of(no_bells(), alone.mandrel, horn(), revision=0)
    decision = decide(replace(alone, bells=nobody))
    assert decision.verdict.verdict == "wait" and isinstance(decision.verdict.reason, NeverMeasured)
    assert not decision.cut_mm.any() and not decision.most_mm.any()


def test_a_habit_of_other_books_does_not_hide_that_no_bell_was_read() -> None:
    swollen = Fault(("A", "B", "C"), 6, 150.0, 180.0, 0.4)
    made = replace(asked("larger"), evidence=evidence(faults=(swollen,)))
    told = decide(replace(made, bells=no_support(made.mandrel.s.size)))
    assert told.verdict.verdict == "wait" and isinstance(told.verdict.reason, NeverMeasured)


def test_bells_spun_another_way_were_read_all_the_same() -> None:
    made = asked("larger")
    unlike = replace(made, bells=no_support(made.mandrel.s.size, measured=2))
    assert decide(unlike).verdict.verdict == "recut"
    nowhere = replace(unlike, trusted=np.full(made.mandrel.s.size, False))
    assert not decide(nowhere).cut_mm.any()  # and then only where the forecast lies among recorded bells


def proud(*, measured: bool) -> Sheets:
    """The small book with steel proud of its target all along, and its readings, or none."""
    book = sheets()
    book["target_profile.csv"] = [
        row if number == 0 else [*row[:2], f"{float(row[2]) - PROUD_MM:.4f}"]
        for number, row in enumerate(book["target_profile.csv"])
    ]
    if not measured:
        book["measurements.csv"] = book["measurements.csv"][:1]
    return book


def told(model: SpringModel, folder: Path) -> Correction:
    book, findings = read_book(folder)
    return correct(model, book, "OAK-T", findings=findings)


def test_a_book_without_a_reading_orders_no_cut(tmp_path: Path) -> None:
    """Whether asked of mechanics alone or of a model that learned the bells while the book had them."""
    bare = write(tmp_path / "bare", proud(measured=False))
    learned = ModelStore(DATA / f"{NAMED}{FORMAT}").load()
    mechanics = fit(read_book(bare)[0])
    assert not mechanics.batches
    assert told(learned, write(tmp_path / "full", proud(measured=True))).cuts_steel
    for model in (mechanics, learned):
        result = told(model, bare)
        assert result.verdict.verdict == "wait" and not result.cuts_steel and not len(result.cut_table)
        assert "no sound bell of this mandrel has been read" in reason_words(result.verdict.reason, "mm")
