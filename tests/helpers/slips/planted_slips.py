"""Slips of the pen planted into a book's files, by the row that they stand in."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path

import numpy as np

DIAMETER_MM, FEELER_MM, MANDREL_MM = 60 * 0.0254, 50 * 0.0254, 2.54  # 60 and 50 thou, a tenth of an inch
Row = list[str]


def with_three_slips(source: Path, out: Path, rng: np.random.Generator) -> dict[tuple[str, int], str]:
    """Copies the book and plants one slip into a diameter, a clearance and a mandrel's size; (file, row) to what."""
    shutil.copytree(source, out, ignore=shutil.ignore_patterns("truth"))
    readings = _rows(out / "measurements.csv")
    kind = readings[0].index("kind")
    value = next(n for n, name in enumerate(readings[0]) if name.startswith("value_"))
    planted = {}
    for what, size in (("outside_diameter", DIAMETER_MM), ("clearance", FEELER_MM)):
        rows = [n for n, row in enumerate(readings) if row[kind] == what]
        row = int(rng.choice(rows))
        _shift(
            readings[row],
            value,
            size * (1 if what == "clearance" else rng.choice([-1, 1])),
            readings[0][value],
        )
        planted["measurements.csv", row + 1] = what
    _write(out / "measurements.csv", readings)
    sizes = _rows(out / "mandrel_profile.csv")
    column = next(n for n, name in enumerate(sizes[0]) if name.startswith("diameter_"))
    row = int(rng.integers(1, len(sizes)))
    _shift(sizes[row], column, MANDREL_MM * rng.choice([-1, 1]), sizes[0][column])
    planted["mandrel_profile.csv", row + 1] = "mandrel"
    _write(out / "mandrel_profile.csv", sizes)
    return planted


def _shift(row: Row, column: int, size_mm: float, header: str) -> None:
    scale = {"mm": 1.0, "in": 25.4, "thou": 0.0254}[header.rpartition("_")[2]]
    row[column] = f"{float(row[column]) + size_mm / scale:.5f}"


def _rows(path: Path) -> list[Row]:
    with path.open(newline="", encoding="utf-8-sig") as stream:
        return list(csv.reader(stream))


def _write(path: Path, rows: list[Row]) -> None:
    with path.open("w", newline="", encoding="utf-8") as stream:
        csv.writer(stream).writerows(rows)
