"""Lines scribed from a stop: one with a figure mistyped is asked about, one elsewhere, or of freehand lines, is not."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from small_book import Sheets, sheets, write

from springfit.records import read_book

STOPS = (380.0, 366.0)  # mm, of OAK's 400


def with_lines(lines: list[float]) -> Sheets:
    """The small book with so many bells more in batch B1, each with its line."""
    book = sheets()
    book["bells.csv"] += [[f"B1-{n}", "B1", str(n), f"{z:.2f}", "good", ""] for n, z in enumerate(lines, start=3)]
    return book


def told(lines: list[float], folder: Path) -> list[tuple[str, bool]]:
    findings = read_book(write(folder, with_lines(lines)))[1]
    return [(f.subject, f.sets_aside) for f in findings if f.column == "witness_z_mm"]


def placed(stops: tuple[float, ...], count: int) -> list[float]:
    """Set against a stop within 0.05 mm, three at one stop, then three at the next."""
    rng = np.random.default_rng(2)
    return [stops[n // 3 % len(stops)] + float(rng.uniform(-0.05, 0.05)) for n in range(count)]


@pytest.mark.parametrize("stops", [STOPS[:1], STOPS])
def test_a_line_ten_mm_off_its_stop_is_asked_about_and_its_bell_kept(stops: tuple[float, ...], tmp_path: Path) -> None:
    lines = placed(stops, 12)
    assert told(lines, tmp_path / "sound") == []
    lines[4] -= 10
    assert told(lines, tmp_path / "book") == [("B1-7", False)]


def test_a_stop_used_once_is_no_slip(tmp_path: Path) -> None:
    assert told([*placed(STOPS[:1], 12), 391.33], tmp_path / "book") == []


def test_freehand_lines_are_all_alone(tmp_path: Path) -> None:
    lines = [380.0 - 3 * n for n in range(12)]
    assert told(lines, tmp_path / "book") == []


def test_few_lines_say_nothing(tmp_path: Path) -> None:
    assert told([380.0, 380.0, 370.0], tmp_path / "book") == []
