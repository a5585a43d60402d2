"""A desk on which a sheet was begun."""

from __future__ import annotations

from pathlib import Path

from springfit.bench.entry.desk import Desk
from tests.helpers.bench_page import bench_events as made

SHEET = "sheet0001"


def begun(book: Path, values: int = 6, desk: Desk | None = None) -> Desk:
    """A desk with a sheet of one bell and so many sound values."""
    desk = desk or Desk(book)
    desk.take(SHEET, made.start())
    desk.take(SHEET, made.bell())
    for n in range(values):
        z = 60.0 + 40 * n
        desk.take(SHEET, made.reading(made.place(fixed=f"{z:g}"), made.sound(z)))
    return desk
