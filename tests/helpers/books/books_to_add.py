"""The small book without its last batch, the sheets of that batch, and what a folder then holds."""

from __future__ import annotations

from pathlib import Path

from springfit.records import read_book
from tests.helpers.books.small_book import Sheets, change, sheets, write


def batch_b3() -> tuple[Sheets, Sheets]:
    """The small book without its batch B3, and the sheets of B3 alone."""
    book, added = sheets(), {}
    for name in ("batches.csv", "bells.csv", "measurements.csv"):
        rows = book[name]
        added[name] = [rows[0], *(row for row in rows[1:] if row[0].startswith("B3"))]
        book[name] = [row for row in rows if not row[0].startswith("B3")]
    return book, added


def contents(folder: Path) -> dict[str, bytes]:
    """Every file of a folder but the lock."""
    paths = (path for path in folder.rglob("*") if path.is_file() and path.name != ".springfit-lock")
    return {str(path.relative_to(folder)): path.read_bytes() for path in paths}


def whole_digest(tmp_path: Path) -> str:
    return read_book(write(tmp_path / "whole", sheets()))[0].digest


def slipped() -> Sheets:
    """The small book with two slips, one of a reading and one of a batch."""
    wrong = sheets()
    change(wrong["measurements.csv"], "value_mm", lambda _: "35.0", where={"bell_id": "B1-1", "z_mm": "290"})
    change(wrong["batches.csv"], "wall_mm", lambda _: "0.6", where={"batch_id": "B2"})
    return wrong
