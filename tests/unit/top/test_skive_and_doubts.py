"""The stock for a skive in the unit that is meant, and what `train` says again of what was found doubtful."""

from __future__ import annotations

import pytest

from springfit.arguments import parser
from springfit.commands.correct_command import _skive_mm
from springfit.findings import BookError, Finding
from springfit.learning.set_aside import AnotherSteel, SetAside, UnlikeItsBatch
from springfit.reporting.training_words import doubted_lines
from springfit.reporting.wording.length_wording import Units


@pytest.mark.parametrize(
    ("typed", "written", "mm"),
    [
        ("4thou", "mm", 0.1016), ("4thou", "in", 0.1016), ("0.1mm", "in", 0.1), ("0.004in", "mm", 0.1016),
        ("0.1", "mm", 0.1), ("0.004", "in", 0.1016), ("0.1 mm", "in", 0.1),
    ],
)  # fmt: skip
def test_a_skive_is_in_its_own_unit_else_in_that_of_what_is_written(typed: str, written: str, mm: float) -> None:
    asked = parser().parse_args(["correct", "book", "--target", "T", "--skive", typed]).skive
    assert _skive_mm(asked, written) == pytest.approx(mm)


@pytest.mark.parametrize(("typed", "written"), [("4", "mm"), ("0.1", "in"), ("100thou", "mm")])
def test_a_skive_in_the_wrong_unit_is_refused_with_the_remedy(typed: str, written: str) -> None:
    asked = parser().parse_args(["correct", "book", "--target", "T", "--skive", typed]).skive
    with pytest.raises(BookError, match="name the unit"):
        _skive_mm(asked, written)


def test_without_a_skive_four_thou_are_left() -> None:
    asked = parser().parse_args(["correct", "book", "--target", "T"]).skive
    assert _skive_mm(asked, "in") == pytest.approx(4 * 0.0254, abs=0.002)


@pytest.mark.parametrize("typed", ["0", "-1mm", "thou", "four"])
def test_a_skive_that_is_no_length_is_refused(typed: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        parser().parse_args(["correct", "book", "--target", "T", f"--skive={typed}"])
    assert "--skive" in capsys.readouterr().err


def doubt(subject: str, row: int, *, whole: bool = False, stops: bool = False) -> Finding:
    return Finding(
        "doubt", "measurements.csv", row, "value_mm", f"{subject} is odd", "another", "check", subject,
        whole, not whole, stops,
    )  # fmt: skip


@pytest.mark.parametrize(("units", "off"), [("mm", "0.40 mm"), ("in", "16 thou")])
def test_train_lists_what_is_in_doubt_and_what_the_fit_says(units: Units, off: str) -> None:
    note = Finding("note", "bells.csv", 2, None, "a note", "")
    found = [doubt("B1", 7), doubt("B2", 9, whole=True), doubt("OAK", 3, stops=True), note]
    aside = [SetAside("B1", "J1", UnlikeItsBatch(0.4)), SetAside("B9", "J1", AnotherSteel())]
    lines = doubted_lines(found, aside, units)
    assert [line.partition(":")[0] for line in lines[:3]] == ["in doubt, not learned from"] * 3
    assert "measurements.csv:7" in lines[0] and "B1 is odd" in lines[0]
    assert len(lines) == 4
    assert lines[3].startswith(f"the fit says of B1: nothing explains it: {off} rms off its batch")


def test_a_reading_in_doubt_of_a_bell_that_fits_is_said_to_fit() -> None:
    assert doubted_lines([doubt("B1", 7)], [], "mm")[1:] == ["the fit says of B1: the rest of it goes with its batch"]


def test_many_doubts_are_counted() -> None:
    lines = doubted_lines([doubt(f"B{n}", n, whole=True) for n in range(1, 31)], [], "mm")
    assert len(lines) == 13 and lines[-1] == "... and 18 more: springfit check BOOK lists them"


def test_nothing_in_doubt_says_nothing() -> None:
    assert doubted_lines([], [], "mm") == []
