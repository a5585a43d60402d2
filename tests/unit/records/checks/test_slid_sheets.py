"""A sheet whose zero was set elsewhere lies on an exponential flare again when moved back by as much: one value of the
move does it, known in closed form. A seat within a millimetre does not count."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from springfit.records import read_book
from tests.helpers.books.small_book import OAK, Sheets, diameter, outside, sheets, write


def finely_measured() -> Sheets:
    """OAK's steel with a station every 5 mm, so that straight lines between them leave nothing to slide by."""
    book = sheets()
    for revision, more in (("0", 0.0), ("1", 0.02)):
        between = [5.0 * n for n in range(81) if n % 4]
        book["mandrel_profile.csv"] += [
            ["OAK", revision, f"{z:g}", f"{diameter(OAK, z) + more:.4f}"] for z in between
        ]
    head, *rows = book["mandrel_profile.csv"]
    book["mandrel_profile.csv"] = [head, *sorted(rows, key=lambda row: (row[0], row[1], float(row[2])))]
    return book


def told(moved: float, folder: Path) -> list[str]:
    """What is said of bell B1-1, whose rings were read at z and written at z - moved."""
    book = finely_measured()
    for row in book["measurements.csv"][1:]:
        if row[0] == "B1-1" and row[2:4] == ["outside_diameter", "tail"]:
            z = float(row[4])
            row[4], row[5] = f"{z - moved:g}", f"{outside(OAK, z):.3f}"
    return [f.what for f in read_book(write(folder, book))[1] if f.subject == "B1-1" and f.sets_aside]


@pytest.mark.parametrize("moved", [-8.0, -5.0, -4.0, 4.0, 5.0, 8.0])
def test_a_sheet_off_along_the_axis_is_told_by_how_much(moved: float, tmp_path: Path) -> None:
    said = told(moved, tmp_path / "book")
    assert len(said) == 1
    size, way = re.search(r"moved ([\d.]+) mm toward the (\w+)", said[0]).groups()  # type: ignore[union-attr]
    assert float(size) == pytest.approx(abs(moved), abs=0.5)
    assert way == ("rim" if moved > 0 else "tail")


@pytest.mark.parametrize("moved", [-0.8, 0.0, 0.8])
def test_a_seat_within_a_hands_reach_is_none(moved: float, tmp_path: Path) -> None:
    assert told(moved, tmp_path / "book") == []
