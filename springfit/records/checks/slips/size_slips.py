"""Mandrels and targets whose sizes can hardly be right: steel is cut by them, so `correct` waits for an answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from springfit.findings import Finding
from springfit.lengths import from_mm, split_unit
from springfit.records.book import Book
from springfit.records.checks.rough_gaps import MandrelProfile
from springfit.records.checks.slips.mistyped import likely_typed
from springfit.records.checks.slips.profile_reach import short_profile, short_revision
from springfit.records.checks.slips.profile_slips import (
    dragged_rows,
    profile_slips,
    repeated_sizes,
    swapped_sizes,
)
from springfit.records.checks.slips.whole_profiles import odd_revision, odd_target

__all__ = ["size_doubts"]

Floats = NDArray[np.float64]

# Ten thou, by judgement.
_CHANGED_MM = (
    0.25  # normal: a recut that is off at one station alone by more is a slip, or a dig to be told about
)
_LIKELY_MM = 0.1  # of diameter: a size that near is a likely one; four thou; by judgement
_ANSWER = "correct it, or accept it with springfit check BOOK --accept"


def size_doubts(book: Book, of: Mapping[tuple[str, int], MandrelProfile]) -> list[Finding]:
    """A doubt, to be answered before steel is cut by it, for each odd profile and each odd size of one."""
    return [*_mandrel_doubts(book, of), *_target_doubts(book, of)]


def _mandrel_doubts(book: Book, of: Mapping[tuple[str, int], MandrelProfile]) -> list[Finding]:
    found: list[Finding] = []
    rows, rims = book.mandrel_profile, _finished_rims(book)
    for (mandrel, revision), steel in of.items():
        before = [of[key] for key in of if key[0] == mandrel and key[1] < revision]
        at = rows.index[(rows["mandrel_id"] == mandrel) & (rows["revision"] == revision)]
        name = f"mandrel {mandrel!r} revision {revision}"
        dragged = dragged_rows(steel.z, steel.diameter)
        said = odd_revision(steel, before[-1], units=book.units) if before and not dragged else ""
        short = short_profile(steel.z, steel.diameter, rims.get(mandrel, np.nan), units=book.units)
        short = short or (short_revision(steel.z, before[-1].z, units=book.units) if before else "")
        for what in (said, short):
            found += _said(book, "mandrel_profile", at, name, mandrel, what)
        found += _dragged(book, "mandrel_profile", at, name, mandrel, dragged)
        if not said and not dragged:
            slips = _with_change(steel, before)
            again = _others(repeated_sizes(steel.z, steel.diameter), slips)
            found += _slipped(book, "mandrel_profile", at, name, mandrel, slips)
            found += _repeated(book, "mandrel_profile", at, name, mandrel, again)
    return found


def _target_doubts(book: Book, of: Mapping[tuple[str, int], MandrelProfile]) -> list[Finding]:
    found: list[Finding] = []
    rows, rims = book.target_profile, _finished_rims(book)
    newest = {mandrel: steel for (mandrel, _), steel in sorted(of.items())}
    for target, mandrel in zip(book.targets["target_id"], book.targets["mandrel_id"], strict=True):
        at = rows.index[rows["target_id"] == target]
        z, diameter = book.target_profile_of(target)
        others = {name: steel for name, steel in newest.items() if name != mandrel}
        dragged = dragged_rows(z, diameter)
        beside = mandrel in newest and not dragged
        said = odd_target(z, diameter, newest[mandrel], others, units=book.units) if beside else ""
        name = f"target {target!r}"
        for what in (said, short_profile(z, diameter, rims.get(mandrel, np.nan), units=book.units)):
            found += _said(book, "target_profile", at, name, target, what)
        found += _dragged(book, "target_profile", at, name, target, dragged)
        if not said and not dragged:
            slips = sorted(_slips(z, diameter).items())
            again = _others(repeated_sizes(z, diameter), slips)
            found += _slipped(book, "target_profile", at, name, target, slips)
            found += _repeated(book, "target_profile", at, name, target, again)
    return found


def _finished_rims(book: Book) -> dict[str, float]:
    """The rim [mm] that bells of each mandrel are usually trimmed to."""
    rims = book.batches.groupby("mandrel_id")["finished_rim_mm"].median()
    return {str(mandrel): float(rim) for mandrel, rim in rims.items()}


def _slips(z: Floats, diameter: Floats) -> dict[int, float]:
    """Sizes that stand out alone, and those of two neighbours in each other's row: expected diameter [mm] by row."""
    slips = {s.place: s.expected_mm for s in profile_slips(z, diameter)}
    for place in swapped_sizes(z, diameter):
        slips.setdefault(place, float(diameter[place + 1]))
        slips.setdefault(place + 1, float(diameter[place]))
    return slips


def _with_change(steel: MandrelProfile, before: list[MandrelProfile]) -> list[tuple[int, float]]:
    """Slips of the curve, and where there was steel before of the change since: (row, expected diameter [mm])."""
    slips = _slips(steel.z, steel.diameter)
    if before:
        # A slip in the old steel is no change of the new.
        kept = np.ones(len(before[-1].z), dtype=bool)
        kept[[s.place for s in profile_slips(before[-1].z, before[-1].diameter)]] = False
        old = replace(
            before[-1], **{name: getattr(before[-1], name)[kept] for name in ("z", "diameter", "slope")}
        )
        inside = (steel.z >= old.z[0]) & (steel.z <= old.z[-1])
        then = np.where(inside, np.interp(steel.z, old.z, old.diameter), np.nan)
        for s in profile_slips(steel.z, steel.diameter, then):
            if abs(s.away_mm) / 2 * np.cos(steel.slope[s.place]) > _CHANGED_MM:
                slips.setdefault(s.place, s.expected_mm)
    return sorted(slips.items())


def _said(book: Book, table: str, at: Any, name: str, subject: str, said: str) -> list[Finding]:
    """The doubt about a whole profile."""
    if not said:
        return []
    return [
        book.finding(
            "doubt", table, at[0], "diameter_mm", what=f"{name} {said}",
            expected="sizes near those of its steel", remedy=f"{_ANSWER} {subject}", subject=subject, stops=True,
        )
    ]  # fmt: skip


def _slipped(
    book: Book, table: str, at: Any, name: str, subject: str, slips: list[tuple[int, float]]
) -> list[Finding]:
    """A doubt for each size that its neighbours do not bear out; only that size is set aside."""
    found = []
    frame: Any = getattr(book, table)
    for place, expected in slips:
        row = at[place]
        header = book.headers.get((frame.at[row, "source_file"], "diameter_mm"), "diameter_mm")
        unit = split_unit(header)[1] or "mm"
        shown = f"{from_mm(float(frame.at[row, 'diameter_mm']), unit):.5g}"
        meant = from_mm(expected, unit)
        guess = likely_typed(shown, meant, from_mm(_LIKELY_MM, unit))
        found.append(
            book.finding(
                "doubt", table, row, "diameter_mm", expected=f"about {meant:.5g} {unit}",
                what=f"{name}: {shown} {unit} is not borne out by the stations around it",
                remedy=f"was it {guess}? {_ANSWER} {subject}" if guess else f"{_ANSWER} {subject}",
                subject=subject, sets_row_aside=table == "mandrel_profile", stops=True,
            )
        )  # fmt: skip
    return found


def _others(places: list[int], slips: list[tuple[int, float]]) -> list[int]:
    """Those of the repeated sizes that are not there because one of the two is a slip."""
    slipped = {place for place, _ in slips}
    return [place for place in places if not slipped & {place - 1, place}]


def _repeated(book: Book, table: str, at: Any, name: str, subject: str, places: list[int]) -> list[Finding]:
    """A doubt for each size that stands in the row above too, while the shape goes on there."""
    what = f"{name}: the size of the row above stands here again, and the shape goes on before and after"
    return [
        book.finding(
            "doubt", table, at[place], "diameter_mm", what=what, expected="a size of its own at every station",
            remedy=f"do the sizes stand a row too low from here on? {_ANSWER} {subject}", subject=subject, stops=True,
        )
        for place in places
    ]  # fmt: skip


def _dragged(
    book: Book, table: str, at: Any, name: str, subject: str, runs: list[tuple[int, int, str]]
) -> list[Finding]:
    """A doubt for each run of rows that a spreadsheet filled by dragging one cell down."""
    columns = {"size": "diameter_mm", "station": "z_mm"}
    said = {"size": "one size stands in all rows", "station": "stations go on by a small even step"}
    found = []
    for first, last, what in runs:
        line = getattr(book, table).at[at[last], "source_row"]
        found.append(
            book.finding(
                "doubt", table, at[first], columns[what], subject=subject, stops=True,
                what=f"{name}: {said[what]} from here to row {line}, and the one after goes on as if they had not",
                expected=f"a {what} of its own in every row", remedy=f"was a cell dragged down? {_ANSWER} {subject}",
            )
        )  # fmt: skip
    return found
