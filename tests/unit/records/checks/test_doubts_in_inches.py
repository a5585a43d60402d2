"""In a shop that measures in inches no doubt speaks of millimetres, whatever it is about."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from springfit.records import read_book
from tests.helpers.books.small_book import Sheets, change, sheets, write

MM = 25.4


def in_inches(book: Sheets) -> Sheets:
    """The book with each length typed in inches."""
    for rows in book.values():
        for place, name in enumerate(rows[0]):
            if name.endswith("_mm"):
                rows[0][place] = f"{name.removesuffix('_mm')}_in"
                for row in rows[1:]:
                    row[place] = f"{float(row[place]) / MM:.6f}" if row[place] else ""
    return book


def cell(sheet: str, column: str, new: str, **where: str) -> Callable[[Sheets], None]:
    return lambda book: change(book[sheet], column, lambda _: new, where=where)


def times(sheet: str, column: str, by: float, **where: str) -> Callable[[Sheets], None]:
    return lambda book: change(book[sheet], column, lambda z: f"{float(z) * by:.4f}", where=where)


def further(book: Sheets) -> None:
    for row in book["measurements.csv"][1:]:
        if row[0] == "B1-1":
            row[4] = f"{float(row[4]) - 6:g}"


# What was done to a book in mm; what is said of it in inches.
SLIPS: dict[str, tuple[Callable[[Sheets], None], str]] = {
    "steel that changed": (lambda book: None, r"diameter \+0\.8 thou \(median\)"),
    "a nose no shop has": (cell("batches.csv", "tool_nose_mm", "80", batch_id="B3"), r"usually 0\.039 to 2\.4 in"),
    "a blank larger than its steel": (times("batches.csv", "blank_rim_mm", 1.3), r"about 4\.\d+ in or less"),
    "a repeatability of inches": (times("gauges.csv", "repeatability_mm", 25.4, gauge_id="MIC"), r"6 thou"),
    "outside sizes of a target": (times("target_profile.csv", "diameter_mm", 2.0), r"lies [\d.]+ (in|thou) \(normal"),
    "a target of half its length": (
        lambda book: book.update({"target_profile.csv": book["target_profile.csv"][:14]}),
        r"ends at a diameter of .* in",
    ),
    "a bell off along the axis": (further, r"moved \d+ thou|lies on its steel|off its steel|thou"),
}  # fmt: skip


@pytest.mark.parametrize("name", SLIPS)
def test_a_doubt_speaks_the_shops_unit(name: str, tmp_path: Path) -> None:
    spoil, said = SLIPS[name]
    book = sheets()
    spoil(book)
    findings = read_book(write(tmp_path / "book", in_inches(book)))[1]
    lines = [finding.line() for finding in findings]
    assert any(re.search(said, line) for line in lines), lines
    assert not [line for line in lines if re.search(r"\d mm\b|millimetre", line)], lines
