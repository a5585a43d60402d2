"""`check` says what it read, what is blank, what teaches nothing; an empty book and a strange metal are told there."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from springfit.cli import main
from tests.helpers.books import small_book


def said(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str]:
    code = main([str(argument) for argument in arguments])
    return code, capsys.readouterr().out


def test_counts_blanks_and_what_teaches_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = small_book.sheets()
    book["bells.csv"].append(["B3-2", "B3", "2", "", "", ""])
    book["mandrels.csv"].append(["ELM", "0", "2025-01-01", "bare", "", ""])
    book["mandrel_profile.csv"] += [["ELM", "0", row[2], row[3]] for row in book["mandrel_profile.csv"][1:22]]
    code, told = said(capsys, "check", small_book.write(tmp_path / "book", book))
    assert code == 0
    # Counted by hand from the rows: 34 diameters, a wall and a clearance a bell, one more of the scribed line.
    assert "read 3 mandrels, 4 revisions, 3 batches, 5 bells, 145 readings, 1 target, 2 gauges" in told
    assert "lot in 3 of 3" in told and " passes in" not in told.split("blank most")[1].split("\n")[0]
    assert "1 bell (B3-2): not measured" in told and "1 mandrel (ELM): no batch on it" in told


def test_a_bell_set_aside_is_counted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = small_book.sheets()
    small_book.change(
        book["measurements.csv"], "value_mm", lambda v: f"{float(v) / 2:.3f}",
        where={"bell_id": "B1-1", "kind": "outside_diameter", "datum": "tail"},
    )  # fmt: skip
    _, told = said(capsys, "check", small_book.write(tmp_path / "book", book))
    assert "1 bell (B1-1): set aside by a doubt" in told


def test_scripts_are_told_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, told = said(capsys, "check", small_book.write(tmp_path / "book", small_book.sheets()), "--json")
    assert any(finding["what"].startswith("read 2 mandrels") for finding in json.loads(told))


def test_an_empty_book_is_no_success(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert said(capsys, "new", tmp_path / "book")[0] == 0
    code, told = said(capsys, "check", tmp_path / "book")
    assert code == 1 and "the book is empty" in told and "springfit add" in told


def test_a_metal_that_nothing_is_known_of(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = small_book.sheets()
    small_book.change(book["batches.csv"], "alloy", lambda _: "C36000", where={"batch_id": "B2"})
    code, told = said(capsys, "check", small_book.write(tmp_path / "book", book))
    assert code == 1 and "batches.csv:3:alloy: the alloy 'C36000' is not in the table" in told and "C26000" in told


def test_a_common_name_is_told_in_its_designation(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = small_book.sheets()
    small_book.change(book["batches.csv"], "alloy", lambda _: "70/30 brass")
    code, told = said(capsys, "check", small_book.write(tmp_path / "book", book))
    assert code == 0 and told.count("'70/30 brass' is read as C26000 (cartridge brass 70/30)") == 1


def test_a_gauge_of_a_usual_kind_needs_no_figures(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = small_book.sheets()
    book["gauges.csv"][1:] = [["MIC", "dial caliper", "", "", ""], ["FEEL", "feeler leaves", "", "0.25", ""]]
    code, told = said(capsys, "check", small_book.write(tmp_path / "book", book))
    assert code == 0 and "repeatability of gauge 'MIC' is not known: 0.03 mm is taken" in told
    assert "as usual for dial caliper" in told and told.count("is taken") == 3


def test_a_gauge_of_no_kind_needs_its_figures(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = small_book.sheets()
    small_book.change(book["gauges.csv"], "repeatability_mm", lambda _: "", where={"gauge_id": "MIC"})
    small_book.change(book["gauges.csv"], "what", lambda _: "the red one", where={"gauge_id": "MIC"})
    code, told = said(capsys, "check", small_book.write(tmp_path / "book", book))
    assert code == 1 and "gauges.csv:2:repeatability_mm" in told and "dial caliper" in told
