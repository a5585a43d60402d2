"""Batches written down as no batch of this shop was spun: another unit, a digit too many, a day out of its order. And
revisions of the steel from a day that is still to come."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from springfit.findings import Finding
from springfit.lengths import from_mm, in_words, split_unit
from springfit.records.book import Book
from springfit.records.checks.others_median import others_median
from springfit.records.checks.rough_gaps import MandrelProfile
from springfit.records.checks.slips.mistyped import likely_typed
from springfit.records.tables import TABLES

__all__ = ["odd_batches", "revisions_to_come"]

# By judgement, looked at on the demo and the three sample shops, none of whose batches is doubted.
_FEWEST_OTHERS = 3  # batches that say what is usual
_TIMES = 4.0  # so many times the shop's median, or less than its part: practice varies by a factor of two
_LEAST_PASSES, _MOST_PASSES = 1, 15  # of a bell: two to six are usual, and each hardens the sheet
_SPEEDS = (60.0, 6000.0)  # 1/min at which thin sheet is spun; common practice, no source
_SHORT_DRAW = 1 / 15  # of the steel: a drawn part so short is none; in inches it would be a third of it
_DRAW_TIMES = 2.0  # times what the mandrel's other batches are drawn to: there 0.84 to 1.16
# A finished rim beside those of the same mandrel, which there are all alike: about a sixteenth of an inch on diameter,
# as large a share of rims wider than 100 mm
_RIM_MM, _RIM_SHARE = 1.5, 0.015
_WALL_SHARE = (0.85, 1.10)  # median wall of a batch's bells beside its sheet: spinning thins it, readings 0.87 to 1.06
_FEWEST_WALLS = 3  # the median of fewer is one reading
_MOST_OUT_OF_ORDER = 0.1  # of the batches: more of them, and the sheet is in no order of days


def odd_batches(book: Book, of: dict[tuple[str, int], MandrelProfile]) -> list[Finding]:
    """A doubt for each cell of a batch that the shop's other batches, its steel or its bells do not bear out."""
    said = [*_practice(book), *_draw_ends(book, of), *_rims(book), *_walls(book), *_days(book)]
    return [
        book.finding(
            "doubt", "batches", row, column, what=what, expected=expected, remedy=remedy,
            subject=str(book.batches.at[row, "batch_id"]),
        )
        for row, column, what, expected, remedy in said
    ]  # fmt: skip


def revisions_to_come(book: Book) -> list[Finding]:
    """A doubt, to be answered before steel is cut, for a revision from a day to come: no batch is put on it."""
    mandrels, today = book.mandrels, pd.Timestamp(datetime.date.today())
    days = mandrels["in_force_from"]
    return [
        book.finding(
            "doubt", "mandrels", row, "in_force_from", subject=mandrel, stops=True,
            what=f"{day.date()} is a day still to come", expected=f"at most {today.date()}",
            remedy="was the year mistyped? It decides on which revision a batch was spun: correct it, or accept it "
            f"with springfit check BOOK --accept {mandrel}",
        )
        for row, mandrel, day in zip(mandrels.index, mandrels["mandrel_id"].astype(str), days, strict=True)
        if day > today
    ]  # fmt: skip


Said = tuple[Any, str, str, str, str]  # row, column, what, expected, remedy


def _practice(book: Book) -> Iterator[Said]:
    """Passes, speed and nose far from the shop's usual ones."""
    bounds = {"passes": (_LEAST_PASSES, _MOST_PASSES), "spindle_rpm": _SPEEDS, "tool_nose_mm": (0.0, np.inf)}
    told = {"tool_nose_mm": TABLES["batches"].column("tool_nose_mm").usual or (0.0, np.inf)}  # past it, as unusual size
    for column, (low, high) in bounds.items():
        values = book.batches[column].dropna()
        usual_of = _usual_by_others(values)
        for (row, value), usual in zip(values.items(), usual_of.tolist(), strict=True):
            if column in told and not told[column][0] <= value <= told[column][1]:
                continue
            if low <= value <= high and not (value > _TIMES * usual or value < usual / _TIMES):
                continue
            file: Any = book.batches.at[row, "source_file"]
            name, unit = split_unit(book.headers.get((file, column), column))
            if column.endswith("_mm"):
                value, usual = (from_mm(mm, unit or "mm") for mm in (value, usual))
            shown, said = _plainly(value), f" {unit or 'mm'}" if column.endswith("_mm") else ""
            known = np.isfinite(usual)
            about = f"about {_plainly(usual)}{said} as in the other batches" if known else f"{low:g} to {high:g}"
            guess = _digits_of(shown, usual)
            yield row, column, f"{name} is {shown}{said}", about, f"was it {guess}?" if guess else "check it"


def _plainly(value: float) -> str:
    """Four digits without a power of ten, as a hand writes them."""
    return np.format_float_positional(value, precision=4, fractional=False, trim="-")


def _usual_by_others(values: pd.Series) -> np.ndarray:
    """For each value the median of the others; NaN where too few others say what is usual."""
    known = values.to_numpy(float)
    return others_median(known) if len(known) > _FEWEST_OTHERS else np.full(len(known), np.nan)


def _digits_of(typed: str, usual: float) -> str:
    """What was meant where a digit was typed twice or the point is misplaced; "" where neither is near the usual."""
    if not np.isfinite(usual):
        return typed[0] if len(typed) == 2 and typed[0] == typed[1] else ""
    tries = [typed[:n] + typed[n + 1 :] for n in range(len(typed))]
    numbers = [float(t) for t in tries if t.strip(".")] + [float(typed) * 10.0**n for n in (-3, -2, -1, 1, 2, 3)]
    best = min(numbers, key=lambda n: abs(np.log(n / usual)) if n > 0 else np.inf)
    return f"{best:g}" if 0.5 < best / usual < 2 else ""


def _draw_ends(book: Book, of: dict[tuple[str, int], MandrelProfile]) -> Iterator[Said]:
    """A drawn part that is none, or half or twice that of the mandrel's other batches."""
    drawn = book.batches["draw_end_mm"].where(book.batches["draw_end_mm"] > 0).dropna()
    cells: Any = book.batches.at
    for mandrel, values in drawn.groupby(book.batches["mandrel_id"], sort=False):
        for (row, draw_end), usual in zip(values.items(), _usual_by_others(values).tolist(), strict=True):
            last = float(of[str(mandrel), int(cells[row, "revision"])].z[-1])
            file = cells[row, "source_file"]
            unit = split_unit(book.headers.get((file, "draw_end_mm"), "draw_end_mm"))[1] or "mm"
            shown = f"{from_mm(draw_end, unit):.4g}"
            what = f"drawing stops {shown} {unit} from the tail"
            if draw_end < _SHORT_DRAW * last:
                in_inches = unit == "mm" and draw_end * 25.4 <= last
                remedy = f"was it typed in inches, {shown} in?" if in_inches else "check it"
                yield row, "draw_end_mm", what, "0, or a good part of the mandrel", remedy
            elif not usual / _DRAW_TIMES <= draw_end <= usual * _DRAW_TIMES and usual > 0:
                meant = from_mm(usual, unit)
                guess = _digits_of(shown, meant)
                about = f"about {meant:.4g} {unit} as in the mandrel's other batches"
                yield row, "draw_end_mm", what, about, f"was it {guess}?" if guess else "check it"


def _rims(book: Book) -> Iterator[Said]:
    """A finished rim unlike those of the mandrel's other batches."""
    for _, rows in book.batches.groupby("mandrel_id", sort=False):
        rims = rows["finished_rim_mm"].dropna()
        for (row, rim), usual in zip(rims.items(), _usual_by_others(rims).tolist(), strict=True):
            if not abs(rim - usual) > max(_RIM_MM, _RIM_SHARE * usual):
                continue
            if float((rims.drop(row) - usual).abs().max()) > _RIM_MM:
                continue
            file: Any = book.batches.at[row, "source_file"]
            unit = split_unit(book.headers.get((file, "finished_rim_mm"), "finished_rim_mm"))[1] or "mm"
            shown, meant = f"{from_mm(float(rim), unit):.5g}", from_mm(usual, unit)
            guess = likely_typed(shown, meant, from_mm(_RIM_MM, unit))
            yield (
                row, "finished_rim_mm", f"the finished rim is {shown} {unit}",
                f"about {meant:.5g} {unit} as in the mandrel's other batches",
                f"was it {guess}?" if guess else "check it",
            )  # fmt: skip


def _walls(book: Book) -> Iterator[Said]:
    """A sheet's wall that the walls of its bells do not bear out."""
    batch_of = dict(zip(book.bells["bell_id"], book.bells["batch_id"], strict=True))
    read = book.measurements.loc[book.measurements["kind"] == "wall", ["bell_id", "value_mm"]]
    parts = [
        pd.DataFrame({"batch": read["bell_id"].map(batch_of), "wall": read["value_mm"]}),
        pd.DataFrame({"batch": book.bells["batch_id"], "wall": book.bells["wall_mm"]}).dropna(),
    ]
    walls = {str(batch): some["wall"] for batch, some in pd.concat(parts).groupby("batch")}
    for row, batch, wall in zip(book.batches.index, book.batches["batch_id"], book.batches["wall_mm"], strict=True):
        some = walls.get(str(batch))
        if some is None or len(some) < _FEWEST_WALLS or not wall > 0:
            continue
        found = float(some.median())
        if not _WALL_SHARE[0] * wall <= found <= _WALL_SHARE[1] * wall:
            sheet, bells = in_words(wall, book.units), in_words(found, book.units)
            what = f"the sheet's wall is {sheet}, its bells' {bells} (median of {len(some)})"
            yield row, "wall_mm", what, "bells a little thinner than their sheet", "was another size typed?"


def _days(book: Book) -> Iterator[Said]:
    """Days still to come, and a day out of the order in which the others stand."""
    days = book.batches["spun_on"]
    today = pd.Timestamp(datetime.date.today())
    for row, day in days.items():
        if day > today:
            what = f"{day.date()} is a day still to come"
            yield row, "spun_on", what, f"at most {today.date()}", "was the year mistyped?"
    past = days[days <= today]
    number = past.to_numpy().astype("datetime64[D]").astype(float)
    out = _out_of_order(number)
    if len(out) > max(1.0, _MOST_OUT_OF_ORDER * len(number)):
        return
    for place in out:
        near = [past.iloc[n].date() for n in (place - 1, place + 1) if 0 <= n < len(past)]
        what = f"{past.iloc[place].date()} is out of the order of the rows around it"
        yield (
            past.index[place], "spun_on", what, f"a day near {' or '.join(map(str, near))}",
            "was the year or month mistyped? It decides on which revision of the steel the batch was spun",
        )  # fmt: skip


def _out_of_order(days: np.ndarray) -> list[int]:
    """The fewest places without which the days never fall (by the longest run that does not), ends counted too."""
    if len(days) <= _FEWEST_OTHERS:
        return []
    longest, before = np.ones(len(days), dtype=int), np.full(len(days), -1)
    for n in range(1, len(days)):
        runs = np.where(days[:n] <= days[n], longest[:n], 0)
        m = int(np.argmax(runs))  # the first of the longest
        if runs[m]:
            longest[n], before[n] = runs[m] + 1, m
    at, kept = int(np.argmax(longest)), set()
    while at >= 0:
        kept.add(at)
        at = int(before[at])
    return [n for n in range(len(days)) if n not in kept]
