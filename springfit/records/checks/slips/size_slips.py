"""Mandrels and targets whose sizes can hardly be right: steel is cut by them, so `correct` waits for an answer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from springfit.findings import Finding
from springfit.lengths import from_mm, split_unit
from springfit.records.blank_cells import USUAL_WALL_MM
from springfit.records.book import Book
from springfit.records.checks.rough_gaps import MandrelProfile
from springfit.records.checks.slips.mistyped import likely_typed
from springfit.records.checks.slips.profile_slips import profile_slips

__all__ = ["size_doubts"]

Floats = NDArray[np.float64]

# Median normal distance of a target from its mandrel, and of a revision from the one before. By judgement, looked at on
# the demo and the sample shops: targets there are within 0.3 mm of the newest steel, revisions within 0.5 mm.
_FAR_TARGET_MM = 0.4
_FAR_STEEL_MM = 0.8
_MOST = 0.75  # of the stations: a tail is nearly straight, and hides what is wrong along the axis
_EXPLAINED = 0.3  # of the distance: what a mistake leaves when it explains it
_CHANGED_MM = (
    0.25  # normal: a recut that is off at one station alone by more is a slip, or a dig to be told about
)
_LIKELY_MM = 0.1  # of diameter: a size that near is a likely one
_SLIDES_MM = np.arange(-6.0, 6.01, 0.25)
_ANSWER = "correct it, or accept it with springfit check BOOK --accept"


def size_doubts(book: Book, of: Mapping[tuple[str, int], MandrelProfile]) -> list[Finding]:
    """A doubt, to be answered before steel is cut by it, for each odd profile and each odd size of one."""
    found: list[Finding] = []
    for (mandrel, revision), steel in of.items():
        before = [of[key] for key in of if key[0] == mandrel and key[1] < revision]
        rows = book.mandrel_profile
        at = rows.index[(rows["mandrel_id"] == mandrel) & (rows["revision"] == revision)]
        said = _whole(steel.z, steel.diameter, before[-1], _FAR_STEEL_MM, {}) if before else ""
        name = f"mandrel {mandrel!r} revision {revision}"
        found += _said(book, "mandrel_profile", at, name, mandrel, said)
        if not said:
            found += _slipped(book, "mandrel_profile", at, name, mandrel, _with_change(steel, before))
    newest = {mandrel: steel for (mandrel, _), steel in sorted(of.items())}
    for target, mandrel in zip(book.targets["target_id"], book.targets["mandrel_id"], strict=True):
        rows = book.target_profile
        at = rows.index[rows["target_id"] == target]
        z, diameter = book.target_profile_of(target)
        others = {name: steel for name, steel in newest.items() if name != mandrel}
        said = _whole(z, diameter, newest[mandrel], _FAR_TARGET_MM, others) if mandrel in newest else ""
        name = f"target {target!r}"
        found += _said(book, "target_profile", at, name, target, said)
        if not said:
            slips = [(s.place, s.expected_mm) for s in profile_slips(z, diameter)]
            found += _slipped(book, "target_profile", at, name, target, slips)
    return found


def _with_change(steel: MandrelProfile, before: list[MandrelProfile]) -> list[tuple[int, float]]:
    """Slips of the curve, and where there was steel before of the change since: (row, expected diameter [mm])."""
    slips = {s.place: s.expected_mm for s in profile_slips(steel.z, steel.diameter)}
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


def _whole(
    z: Floats, diameter: Floats, steel: MandrelProfile, far: float, others: Mapping[str, MandrelProfile]
) -> str:
    """What is odd of the profile beside the steel, with the mistake that explains it; "" when nothing is."""
    distance = _distance(steel, z, diameter)
    if not distance > far:
        return ""
    left = {said: _distance(on, *changed) for said, on, changed in _undone(z, diameter, steel, others)}
    best = min(left, key=lambda said: left[said])
    reason = best if left[best] < _EXPLAINED * distance else "no known mistake explains it"
    return f"lies {distance:.2f} mm (normal, at a quarter of its stations or more) from the steel: {reason}"


def _distance(steel: MandrelProfile, z: Floats, diameter: Floats) -> float:
    inside = (z >= steel.z[0] - 1) & (z <= steel.z[-1] + 1)
    if inside.sum() < max(3, len(z) // 2):
        return float("inf")
    distance = np.abs(steel.normal_distance(z, diameter, np.zeros(len(z))))[inside]
    return float(np.quantile(distance, _MOST))


def _undone(
    z: Floats, diameter: Floats, steel: MandrelProfile, others: Mapping[str, MandrelProfile]
) -> Iterator[tuple[str, MandrelProfile, tuple[Floats, Floats]]]:
    """Each mistake that may have been made, and the profile without it."""
    yield "radii were typed for diameters", steel, (z, 2 * diameter)
    half = np.where(diameter < 0.75 * np.interp(z, steel.z, steel.diameter), 2 * diameter, diameter)
    yield "radii were typed for diameters in some of the rows", steel, (z, half)
    yield "z was counted from the rim", steel, ((z[-1] - z)[::-1], diameter[::-1])
    wall = 2 * USUAL_WALL_MM / np.cos(steel.slope_at(z))
    yield "the outside was measured, not the inside", steel, (z, diameter - wall)
    yield "diameters stand a row too low", steel, (z[:-1], diameter[1:])
    yield "diameters stand a row too high", steel, (z[1:], diameter[:-1])
    slide = min(_SLIDES_MM, key=lambda d: _distance(steel, z + d, diameter))
    yield f"it lies {abs(slide):.2g} mm off along the axis", steel, (z + slide, diameter)
    for name, other in others.items():
        yield f"it fits mandrel {name!r}", other, (z, diameter)


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
