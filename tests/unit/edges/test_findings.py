"""A finding on one line, whatever a cell held."""

from __future__ import annotations

from springfit.findings import BookError, Finding, only_errors


def test_line_says_where_what_expected_and_remedy() -> None:
    finding = Finding("error", "bells.csv", 7, "wall_in", "'abc' is no number", "inches", "correct the cell")
    assert finding.line() == "bells.csv:7:wall_in: 'abc' is no number, expected inches, correct the cell"


def test_parts_that_are_not_known_are_left_out() -> None:
    assert Finding("error", "b", None, None, "missing", "a folder").line() == "b: missing, expected a folder"
    assert Finding("note", "b", 3, None, "odd", "").line() == "b:3: odd"
    assert Finding("note", "b", None, "x", "odd", "").place() == "b::x"


def test_a_cell_cannot_break_the_line() -> None:
    finding = Finding("doubt", "a\nb.csv", 2, "c\x1b[31m", "x\r\ny", "z")
    assert "\n" not in finding.line() and "\x1b" not in finding.line()


def test_book_error_keeps_every_finding() -> None:
    findings = (Finding("note", "a", 1, None, "n", ""), Finding("error", "b", 2, None, "e", ""))
    error = BookError(findings)
    assert error.findings == findings and only_errors(error.findings) == findings[1:]
    assert "b:2: e" in str(error)
