"""Sheets with an error in them: each is refused at its file, row and column, for its reason.

The names of the cases are the table: `pytest -v` on this file prints it.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from pathlib import Path

import pytest

from springfit.findings import BookError, Finding
from springfit.records import check_book, read_book
from tests.helpers.books.small_book import Sheets, sheets, write
from tests.helpers.books.spoilers import (
    B,
    M,
    P,
    Rewrite,
    Spoil,
    cell,
    header,
    more,
    nothing,
    rewrite,
    second_column,
    without,
    without_column,
)


@dataclass(frozen=True)
class Refused:
    """An error that must stand at `file:row:column`, with `reason` in its line."""

    spoil: Spoil
    file: str
    row: int | None
    column: str | None
    reason: str
    then: Rewrite = nothing

    def found_in(self, findings: tuple[Finding, ...]) -> bool:
        return any(
            f.grade == "error"
            and (f.file, f.row, f.column) == (self.file, self.row, self.column)
            and self.reason in f.line()
            for f in findings
        )


def swapped_stations(book: Sheets) -> None:
    rows = book["mandrel_profile.csv"]
    rows[4], rows[5] = rows[5], rows[4]


def few_stations(book: Sheets) -> None:
    rows = book["mandrel_profile.csv"]
    rows[:] = [row for row in rows if row[0] != "ASH" or float(row[2]) in (0, 380, 400)]


def one(file: str, row: int, column: str, new: str, reason: str) -> Refused:
    """A single cell that must be refused where it stands."""
    return Refused(cell(file, row, column, new), file, row, column, reason)


REFUSED: dict[str, Refused] = {
    "text in a number": one(M, 5, "value_mm", "abc", "'abc' is not a number"),
    "a unit in the cell": one(M, 5, "value_mm", "13.3 mm", "'13.3 mm' is not a number"),
    "decimal comma": one(M, 5, "value_mm", "13,3", "--decimal-comma"),
    "thousands": one(M, 5, "value_mm", "1,234.5", "'1,234.5' has a comma"),
    "a fraction of a mm": one(
        M, 5, "value_mm", "13-3/8", "fractions are read in columns that end in _in only"
    ),
    "not a number": one(M, 5, "value_mm", "nan", "'nan' is not a number"),
    "infinite": one(M, 5, "value_mm", "-inf", "'-inf' is not a number"),
    "underscored": one(M, 5, "value_mm", "1_3", "'1_3' is not a number"),
    "Arabic figures": one(M, 5, "value_mm", "١٣", "is not a number"),
    "a formula": one(M, 5, "value_mm", "=13+1", "'=13+1' is not a number"),
    "a question mark": one(M, 5, "z_mm", "40?", "'40?' is not a number"),
    "blank value": one(M, 5, "value_mm", "", "value_mm is blank"),
    "blank datum": one(M, 5, "datum", "", "datum is blank"),
    "half a pass": one(B, 2, "passes", "2.5", "'2.5' is not a whole number"),
    "day first": one(B, 2, "spun_on", "03/01/2025", "'03/01/2025' is not an ISO date"),
    "a day no month has": one(B, 2, "spun_on", "2025-02-30", "is not an ISO date"),
    "two-figure year": one(B, 2, "spun_on", "25-03-01", "is not an ISO date"),
    "a choice misspelt": one(M, 5, "kind", "outside_diametre", "is it 'outside_diameter'?"),
    "a made-up datum": one(M, 5, "datum", "middle", "witness, tail, rim, free"),
    "an alloy nobody trades": one(B, 2, "alloy", "71/28", "'71/28' names no single alloy"),
    "wall in thou, typed in mm": one(B, 2, "wall_mm", "19.7", "it would be usual in thou"),
    "wall in inches, typed in mm": one(B, 2, "wall_mm", "0.0197", "it would be usual in in"),
    "unknown mandrel": one(B, 2, "mandrel_id", "OAKE", "is it 'OAK'?"),
    "a bell's batch unknown": one("bells.csv", 3, "batch_id", "B9", "'B9' is unknown"),
    "bell without batch": one("bells.csv", 3, "batch_id", "", "batch_id is blank"),
    "a reading's bell unknown": one(M, 5, "bell_id", "B1-l", "is it 'B1-2'?"),
    "unknown gauge": one(M, 5, "gauge_id", "MIK", "is it 'MIC'?"),
    "reading without gauge": one(M, 5, "gauge_id", "", "names no gauge"),
    "invisible letter in a name": one(M, 5, "bell_id", "B1-\u00ad1", "is not a name"),
    "right-to-left mark in a name": one("bells.csv", 3, "bell_id", "B1\u202e-2", "is not a name"),
    "endless name": one("bells.csv", 3, "bell_id", "B" * 999, "is not a name"),
    "station past the steel": one(M, 5, "z_mm", "430", "is past the steel"),
    "station in inches' figures": one(M, 5, "z_mm", "9999", "is past the steel"),
    "negative size": one(M, 5, "value_mm", "-13.3", "is impossible"),
    "size nought": one(M, 5, "value_mm", "0", "is not above zero"),
    "negative clearance": one(M, 37, "value_mm", "-0.03", "the clearance is below zero"),
    "wall of a foot": one(M, 36, "value_mm", "304.8", "the wall is impossible"),
    "draw past the steel": Refused(
        second_column(B, "draw_end_mm", "500"), B, 2, "draw_end_mm", "past the steel"
    ),
    "before the first revision": one(B, 2, "spun_on", "2024-12-31", "no revision in force on 2024-12-31"),
    "a revision of another day": Refused(second_column(B, "revision", "1"), B, 2, "revision", "not in force"),
    "two revisions from one day": one("mandrels.csv", 3, "in_force_from", "2025-01-01", "no later than"),
    "unknown revision": one(P, 5, "revision", "7", "'OAK' 7 is unknown"),
    "stations out of order": Refused(swapped_stations, P, 6, "z_mm", "z does not increase"),
    "too few stations": Refused(few_stations, "mandrels.csv", 4, "revision", "'ASH' 0 has 3 stations"),
    "target without a profile": Refused(
        more("targets.csv", "NEW", "OAK", "0.05", "", ""),
        "targets.csv",
        3,
        "target_id",
        "'NEW' has 0 stations",
    ),
    "key twice": Refused(
        more(B, "B1", "2025-03-02", "OAK", "C26000", "", "0.5", "", "3"),
        B,
        5,
        "batch_id",
        "first at batches.csv:2",
    ),
    "witness without a line": Refused(
        more(M, "B1-2", "trimmed", "outside_diameter", "witness", "300", "23.1", "", "MIC"),
        M,
        147,
        "datum",
        "scribed line of unknown station",
    ),
    "two units for one quantity": Refused(
        second_column(M, "value_in", "0.5"), M, 1, "value_in", "value stands in two units"
    ),
    "a column without unit": Refused(header(M, "value_mm", "value"), M, 1, "value", "no unit that is known"),
    "centimetres": Refused(header(M, "value_mm", "value_cm"), M, 1, "value_cm", "no unit that is known"),
    "inch spelt out": Refused(header(M, "z_mm", "z_inch"), M, 1, "z_inch", "no unit that is known"),
    "missing column": Refused(without_column(M, "datum"), M, 1, "datum", "the column datum is missing"),
    "misspelt column": Refused(header(M, "bell_id", "bel_id"), M, 1, "bell_id", "is it the column 'bel_id'?"),
    "gauge column missing": Refused(without_column(M, "gauge_id"), M, 1, "gauge_id", "is missing"),
    "a column twice": Refused(header(M, "angle_deg", "z_mm"), M, 1, "z_mm", "the column stands twice"),
    "missing table": Refused(without("bells.csv"), "bells.csv", None, None, "the table bells is missing"),
    "missing gauges": Refused(without("gauges.csv"), "gauges.csv", None, None, "the table gauges is missing"),
    "empty file": Refused(nothing, M, 1, None, "the sheet is empty", rewrite(M, lambda _: b"")),
    "blank lines only": Refused(nothing, M, 1, None, "the sheet is empty", rewrite(M, lambda _: b"\n,,\n\n")),
    "decimal comma without quotes": Refused(
        nothing, M, 5, None, "the row has 9 cells", rewrite(M, lambda d: d.replace(b",70,", b",70,5,", 1))
    ),
    "semicolons and decimal commas": Refused(
        nothing,
        M,
        2,
        "value_mm",
        "--decimal-comma",
        rewrite(M, lambda data: data.replace(b",", b";").replace(b".", b",")),
    ),
    "UTF-16 cut short": Refused(
        nothing, M, None, None, "it is not text", rewrite(M, lambda data: data.decode().encode("utf-16")[:-1])
    ),
    "a picture": Refused(
        nothing, M, None, None, "it is not text", rewrite(M, lambda _: bytes(range(256)) * 99)
    ),
    "an open quote": Refused(
        nothing, M, 2, None, "quote", rewrite(M, lambda data: data.replace(b",0,MIC", b',"0,MIC', 1))
    ),
    "a quote that swallows rows": Refused(
        nothing,
        M,
        2,
        "angle_deg",
        "runs over several lines",
        rewrite(
            M, lambda data: data.replace(b",0,MIC", b',"0,MIC', 1).replace(b",0,MIC\nB1-2", b'",MIC\nB1-2', 1)
        ),
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused(name: str, tmp_path: Path) -> None:
    case = REFUSED[name]
    book = sheets()
    case.spoil(book)
    folder = write(tmp_path / "book", book)
    case.then(folder)
    findings = check_book(folder)
    assert case.found_in(findings), "\n".join(finding.line() for finding in findings)
    with pytest.raises(BookError):
        read_book(folder)


SINGLE_CELLS = [name for name, case in REFUSED.items() if case.row and case.row > 1 and case.then is nothing]


# What is said of rows by the rows that they belong to cannot be said while those are in doubt themselves.
HIDDEN_BEHIND_KEYS = (
    "is past the steel",
    "past the steel",
    "not in force",
    "is it 'B1-2'?",
    "scribed line of unknown station",
)


def hides(case: Refused) -> bool:
    """Whether the mistake stands in a key, or takes away the steel."""
    return case.column in ("bell_id", "batch_id", "mandrel_id", "revision", "spun_on", "in_force_from")


FIRSTS = range(0, len(SINGLE_CELLS), 4)
BY_HAND = [pytest.param(first, marks=pytest.mark.benchmark) for first in FIRSTS if first not in FIRSTS[::6]]


@pytest.mark.parametrize("first", [*FIRSTS[::6], *BY_HAND])
def test_mixtures_are_listed_in_one_pass(first: int, tmp_path: Path) -> None:
    """Every single-cell mistake with every ninth: both are found, each where it stands."""
    names = SINGLE_CELLS[first : first + 4]
    for number, (one_name, other_name) in enumerate(itertools.product(names, SINGLE_CELLS[::9])):
        one_case, other_case = REFUSED[one_name], REFUSED[other_name]
        if (one_case.file, one_case.row) == (other_case.file, other_case.row):
            continue
        book = sheets()
        one_case.spoil(book)
        other_case.spoil(book)
        findings = check_book(write(tmp_path / f"book-{number}", book))
        for case, other in ((one_case, other_case), (other_case, one_case)):
            hidden = hides(other) and case.reason in HIDDEN_BEHIND_KEYS
            assert case.found_in(findings) or hidden, f"{one_name} + {other_name}: {findings}"
