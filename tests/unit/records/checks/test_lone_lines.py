"""Lines scribed from a stop: one with a figure mistyped is asked about, and one that is off its batch's stop, or at
none of those the mandrel has, where the shop's other lines show such a habit; of freehand lines none is."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from springfit.records import read_book
from tests.helpers.books.small_book import Sheets, sheets, write

STOPS = (380.0, 366.0)  # mm, of OAK's 400


def with_lines(lines: list[float]) -> Sheets:
    """The small book with so many bells more in batch B1, each with its line."""
    book = sheets()
    book["bells.csv"] += [[f"B1-{n}", "B1", str(n), f"{z:.2f}", "good", ""] for n, z in enumerate(lines, start=3)]
    return book


def of_batches(*batches: list[float]) -> Sheets:
    """The small book with batches more on OAK before it was plated, each of bells with those lines."""
    book = sheets()
    for number, lines in enumerate(batches):
        batch = f"L{number}"
        book["batches.csv"].append([batch, "2025-03-10", *book["batches.csv"][1][2:]])
        book["bells.csv"] += [[f"{batch}-{n}", batch, str(n), f"{z:.2f}", "good", ""] for n, z in enumerate(lines)]
    return book


def told(lines: list[float], folder: Path) -> list[tuple[str, bool]]:
    return told_of(with_lines(lines), folder)


def told_of(book: Sheets, folder: Path) -> list[tuple[str, bool]]:
    findings = read_book(write(folder, book))[1]
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


# No two of them one figure apart: what is told of a line is told by its batch, or by the stops, and by nothing else.
A_STOP_EACH = (351.2, 337.9, 364.6, 328.3, 375.7)


def test_a_line_off_its_batch_s_stop_is_asked_about(tmp_path: Path) -> None:
    """By no single figure: 337.9 typed 342.6."""
    batches = [[stop] * 6 for stop in A_STOP_EACH]
    assert told_of(of_batches(*batches), tmp_path / "sound") == []
    batches[1][2] = 342.6
    assert told_of(of_batches(*batches), tmp_path / "book") == [("L1-2", False)]


def test_a_batch_of_a_line_of_its_own_is_asked_nothing(tmp_path: Path) -> None:
    """One bell of it was read from its line, one figure away from where another batch was scribed."""
    assert told_of(of_batches(*([stop] * 6 for stop in A_STOP_EACH), [357.9]), tmp_path / "book") == []


def test_batches_that_are_scribed_at_several_stops_say_nothing(tmp_path: Path) -> None:
    """Every batch has a line at a stop of its own beside five at another."""
    batches = [[*[stop] * 5, stop - 8.35 - n] for n, stop in enumerate(A_STOP_EACH)]
    assert told_of(of_batches(*batches), tmp_path / "book") == []


def test_a_line_at_no_stop_of_several_is_asked_about(tmp_path: Path) -> None:
    """Every batch is scribed at either stop: 366 typed 358.22 is at neither, and no single figure away."""
    batches = [[*[380.0] * 4, 366.0, 366.0] for _ in range(4)]
    assert told_of(of_batches(*batches), tmp_path / "sound") == []
    batches[2][5] = 358.22
    assert told_of(of_batches(*batches), tmp_path / "book") == [("L2-5", False)]
