"""Tolerances and slides of targets unlike the shop's others: another unit, or a point misplaced."""

from __future__ import annotations

from springfit.findings import Finding
from springfit.lengths import from_mm, in_words, split_unit
from springfit.records.book import Book

__all__ = ["odd_targets"]

_FEWEST_OTHERS = 2  # targets that say what is usual; by judgement
_TIMES = 8.0  # between the shop's targets: twice is usual, inches for millimetres is 25
_LONGEST_SLIDE_MM = 5.0  # that a whole flare may move: a rim so far along is another bell; by judgement


def odd_targets(book: Book) -> list[Finding]:
    """A doubt, to be answered before steel is cut by it, for each such figure."""
    found = []
    for column in ("tolerance_mm", "slide_mm"):
        values = book.targets[column]
        for row, value in values[values > 0].items():
            others = values[values > 0].drop(row)
            usual = float(others.median()) if len(others) >= _FEWEST_OTHERS else float("nan")
            unlike = value > _TIMES * usual or value < usual / _TIMES
            if not unlike and not (column == "slide_mm" and value > _LONGEST_SLIDE_MM):
                continue
            file, target = str(book.targets.at[row, "source_file"]), str(book.targets.at[row, "target_id"])
            unit = split_unit(book.headers.get((file, column), column))[1] or "mm"
            about = f"at most {in_words(_LONGEST_SLIDE_MM, unit)}"
            if unlike:
                about = f"about {from_mm(usual, unit):.3g} {unit} as of the other targets"
            name, shown = column.removesuffix("_mm"), f"{from_mm(float(value), unit):.3g} {unit}"
            found.append(
                book.finding(
                    "doubt", "targets", row, column, subject=target, stops=True, expected=about,
                    what=f"{name} of target {target!r} is {shown}",
                    remedy="was another unit typed? Correct it, or accept it with springfit check BOOK --accept "
                    f"{target}",
                )
            )  # fmt: skip
    return found
