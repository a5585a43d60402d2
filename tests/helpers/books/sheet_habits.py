"""Habits of people who keep sheets: titles, remarks, units below the header, sums, days in another order."""

from __future__ import annotations

import datetime
from collections.abc import Callable

from springfit.records.day_setting import keep_day_order
from tests.helpers.books.small_book import Rows, Sheets, change
from tests.helpers.books.spoilers import B, M, P, Rewrite, Spoil, rewrite_all


def every_sheet(do: Callable[[Rows], object]) -> Spoil:
    def spoil(book: Sheets) -> None:
        for rows in book.values():
            do(rows)

    return spoil


def titled(rows: Rows) -> None:
    rows[:0] = [["Sheet of my shop", *[""] * (len(rows[0]) - 1)], [""] * len(rows[0])]


def remarked(rows: Rows) -> None:
    rows.append([""] * len(rows[0]))
    rows.append(["", "caliper battery low, check zero", *[""] * (len(rows[0]) - 2)])


def headed_again(rows: Rows) -> None:
    rows.insert(len(rows) // 2 + 1, list(rows[0]))


def with_spaces(rows: Rows) -> None:
    rows[0] = [name.replace("_mm", " (mm)").replace("_", " ").title() for name in rows[0]]


def with_units_below(rows: Rows) -> None:
    units = ["mm" if name.endswith("_mm") else "" for name in rows[0]]
    rows[0] = [name.removesuffix("_mm") for name in rows[0]]
    if any(units):
        rows.insert(1, units)


def with_units_twice(rows: Rows) -> None:
    units = ["[mm]" if name.endswith("_mm") else "-" for name in rows[0]]
    if "[mm]" in units:
        rows.insert(1, units)


def broken_headers(rows: Rows) -> None:
    rows[0] = [name.replace("_mm", "\n[mm]") for name in rows[0]]


def invisible(rows: Rows) -> None:
    for row in rows:
        row[:] = [f"\u200b{cell}\ufeff" if cell else cell for cell in row]


def totals(book: Sheets) -> None:
    book[M] += [["Average", "", "", "", "", "31.2", "", ""], ["", "", "", "", "Total:", "4401", "", ""]]
    book[P].append(["mean", "", "", "36.1"])


def remark_half_way(book: Sheets) -> None:
    book[M].insert(40, ["second sitting, after lunch, calipers cleaned", *[""] * 7])


def days_of(order: str) -> Spoil:
    def spoil(book: Sheets) -> None:
        change(book[B], "spun_on", lambda day: datetime.date.fromisoformat(day).strftime(order))

    return spoil


def separated(mark: str) -> Rewrite:
    return rewrite_all(lambda data: data.replace(b",", mark.encode()))


def kept(order: str) -> Rewrite:
    return lambda folder: keep_day_order(folder, order)  # type: ignore[arg-type]
