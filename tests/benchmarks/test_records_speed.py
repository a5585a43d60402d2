"""A book of 600 000 readings is loaded and checked in 15 s and 1.5 GiB: `pytest -m benchmark -s`."""

from __future__ import annotations

import random
import subprocess
import sys
from pathlib import Path

import pytest

from tests.helpers.books.small_book import ASH, OAK, outside, sheets, write

READINGS = 600_000
SECONDS = 15.0
GIBIBYTES = 1.5
STATIONS = 75  # readings of one bell

MEASURE = """
import resource, sys, time
from springfit.records import read_book
begin = time.perf_counter()
book, findings = read_book(sys.argv[1])
print(len(book.measurements), time.perf_counter() - begin,
      resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20, len(findings))
"""


def large_book(folder: Path) -> Path:
    """The small book's mandrels and batches with as many bells as it takes."""
    book = sheets()
    bells, readings = book["bells.csv"], book["measurements.csv"]
    del bells[1:], readings[1:]
    chance = random.Random(1)
    batch_of = {0: ("B1", OAK, 0.0), 1: ("B2", ASH, 0.0), 2: ("B3", OAK, 0.01)}
    for number in range(READINGS // STATIONS):
        batch, steel, more = batch_of[number % 3]
        bells.append([f"{batch}-{number}", batch, str(number), "", "good", ""])
        for place in range(STATIONS):
            z = 40 + 4.4 * place
            value = outside(steel, z, 0.02 + more) + chance.gauss(0.0, 0.01)
            readings.append(
                [bells[-1][0], "trimmed", "outside_diameter", "tail", f"{z:.1f}", f"{value:.4f}", "0", "MIC"]
            )
    return write(folder, book)


@pytest.mark.benchmark
def test_600_000_readings(tmp_path: Path) -> None:
    book = large_book(tmp_path / "book")
    done = subprocess.run(
        [sys.executable, "-c", MEASURE, str(book)], capture_output=True, text=True, check=True
    )
    count, seconds, gibibytes, findings = (float(word) for word in done.stdout.split())
    print(f"{count:.0f} readings: {seconds:.1f} s, {gibibytes:.2f} GiB, {findings:.0f} findings")
    assert count == READINGS and findings == 1
    assert seconds < SECONDS and gibibytes < GIBIBYTES
