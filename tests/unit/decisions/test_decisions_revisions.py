"""A correction by the bells of a revision, by none, by those of the one before."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from springfit.decisions.correction import correct
from springfit.decisions.verdict.reasons import SureCut
from springfit.findings import BookError
from springfit.records.conditions import Conditions
from springfit.records.reading import read_book
from springfit.reporting.wording.reason_wording import reason_words
from tests.helpers.corrections.shop_on_disk import HORN, MadeUp, book_on_disk


def test_a_revision_without_bells_waits_and_is_compared_with_its_plan(tmp_path: Path) -> None:
    book, _ = read_book(book_on_disk(tmp_path, slide="", spun_on="2025-05-01"))
    result = correct(MadeUp(0.4, measured=(0,)), book, "T")
    assert (result.job.revision, result.verdict.verdict) == (1, "wait")
    assert result.as_cut is not None
    # the book's revision 1 took off a ring of 0.05 mm where up to 0.36 mm were planned: shy, not deep
    assert result.as_cut.deepest_mm < 0.06
    found = result.as_cut.rows.found_cut_mm[np.abs(HORN.s[: len(result.as_cut.rows)] - 270.0) < 1.0]
    assert found.to_numpy() == pytest.approx(0.05, abs=0.003)


def test_a_revision_with_bells_is_judged_by_them(tmp_path: Path) -> None:
    book, _ = read_book(book_on_disk(tmp_path, slide=""))
    result = correct(MadeUp(0.4, measured=(0, 1)), book, "T")
    assert result.as_cut is None
    assert result.verdict.verdict == "recut"
    assert (result.model_version, result.book_digest) == ("made up", book.digest)


def test_a_mandrel_never_spun_on_asks_for_conditions(tmp_path: Path) -> None:
    folder = book_on_disk(tmp_path)
    for name in ("batches", "bells", "measurements"):
        sheet = folder / f"{name}.csv"
        sheet.write_text(sheet.read_text().splitlines()[0] + "\n")
    book, _ = read_book(folder)
    with pytest.raises(BookError) as refused:
        correct(MadeUp(0.4, measured=()), book, "T")
    assert "conditions file" in refused.value.findings[0].line()
    asked = correct(MadeUp(0.4, measured=()), book, "T", conditions=Conditions("new", "C26000"))
    assert asked.verdict.verdict == "wait"


def test_the_reason_has_the_numbers_of_the_verdict_and_is_said_in_the_unit_asked_for(tmp_path: Path) -> None:
    book, _ = read_book(book_on_disk(tmp_path, slide=""))
    verdict = correct(MadeUp(0.4, measured=(0, 1)), book, "T").verdict
    assert isinstance(verdict.reason, SureCut)
    assert verdict.reason.cut_mm == verdict.largest_cut_mm and verdict.reason.z_mm == verdict.largest_cut_at_mm
    said = reason_words(verdict.reason, "in")
    assert "thou" in said and " mm" not in said
    assert "100 %" not in said
