"""A record book of invented originals, for tests of the survey: files of a small shop with a family of them added."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from springfit.records.book import Book
from springfit.records.reading import read_book
from tests.helpers.books import small_book
from tests.helpers.originals.original_families import Original

__all__ = ["family_book", "original_sheets"]

Sheets = dict[str, list[list[str]]]
READING_SD = 0.012  # [mm] of a diameter


def original_sheets(
    originals: Sequence[Original], family: str = "LARK", *, names: str = "L", walls: bool = True
) -> Sheets:
    """`specimens` and `specimen_points` of a family, read with a gauge of no error of place."""
    heads = [["specimen_id", "family", "trust", "wall_mm", "note"]]
    points = [["specimen_id", "kind", "z_mm", "value_mm", "gauge_id"]]
    for number, one in enumerate(originals, start=1):
        name = f"{names}{number}"
        heads.append([name, family, "", f"{one.wall:.4f}" if walls else "", ""])
        for z, value in zip(one.z, one.outside, strict=True):
            points.append([name, "outside_diameter", f"{z:.4f}", f"{value:.4f}", "BENCH"])
    return {"specimens.csv": heads, "specimen_points.csv": points}


def family_book(folder: Path, *sheets: Sheets) -> Book:
    """A small shop's book with originals in it."""
    book = small_book.sheets()
    book["gauges.csv"] = [*book["gauges.csv"], ["BENCH", "bench micrometer", f"{READING_SD}", "0", ""]]
    for one in sheets:
        for name, rows in one.items():
            book[name] = [*book.get(name, rows[:1]), *rows[1:]]
    return read_book(small_book.write(folder, book))[0]
