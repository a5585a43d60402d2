"""Whole profiles that can hardly be meant: a target beside its steel, steel beside what it was before."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from springfit.lengths import in_words
from springfit.records.blank_cells import USUAL_WALL_MM
from springfit.records.checks.rough_gaps import MandrelProfile
from springfit.records.reading_kinds import z_from_tail

__all__ = ["odd_revision", "odd_target"]

Floats = NDArray[np.float64]
Undone = Iterator[tuple[str, MandrelProfile, tuple[Floats, Floats]]]

# Normal distance of a target from its mandrel, and of a revision from the one before. By judgement, looked at on the
# demo and the sample shops: targets there are within 0.3 mm of the newest steel, revisions within 0.5 mm.
_FAR_TARGET_MM = 0.4
_FAR_STEEL_MM = 0.8
_MOST = 0.75  # of the stations: a tail is nearly straight, and hides what is wrong along the axis
# Tails of two mandrels may be alike to some tenths, and only their flares differ: nine in ten stations of each target
# there lie within 0.36 mm of its own steel, and of none within 1.3 mm of another's.
_FAR_FLARE_MM, _ALL_BUT_THE_RIM = 0.8, 0.9
_EXPLAINED = 0.3  # of the distance: what a mistake leaves when it explains it; by judgement
_SLIDES_MM = np.arange(-6.0, 6.01, 0.25)  # tried, a third of the one that is doubted apart; by judgement
# Nearer than that a target may still be off along the axis, which a slender flare hardly shows: the 19 targets of the
# demo and the sample shops lie best within 0.5 mm of where they are written, and a slide explains at most half.
_SLID_MM = 0.75
_SLID_EXPLAINED = 0.5
# Chrome on a mandrel is some hundredths a side (there 0.01 to 0.03 mm): steel that grew by more is another piece of
# steel, the outside of a bell, or one of the two off along the axis.
_GROWN_MM = 0.15
# A lathe takes some tenths off the flare, and leaves the tail as it is (recuts there take off 0.09 mm at most). A layer
# as thick as thin sheet (0.3 mm) off all along, tail and rim alike, is the wall of a bell that was measured before.
_LAYER_MM, _LAYER_EVEN = 0.25, 0.5
_HALF_OR_WHOLE = 0.75  # of the steel's diameter: below it a row is nearer to a radius than to a diameter
_NEARLY_ALL = 0.9  # of the stations; by judgement


def odd_target(
    z: Floats, diameter: Floats, steel: MandrelProfile, others: Mapping[str, MandrelProfile], *, units: str
) -> str:
    """What is odd of a target beside its steel, with the mistake that explains it; "" when nothing is.

    units: those of the book ("mm" or "in"), in which it is said."""
    return (
        _far(z, diameter, steel, _FAR_TARGET_MM, others, units=units)
        or _moved(z, diameter, steel, _SLID_EXPLAINED, units=units)
        or _far(z, diameter, steel, _FAR_FLARE_MM, others, units=units, most=_ALL_BUT_THE_RIM)
    )


def odd_revision(steel: MandrelProfile, before: MandrelProfile, *, units: str) -> str:
    """What is odd of a revision beside the one before it, with the mistake that explains it; "" when nothing is."""
    z, diameter = steel.z, steel.diameter
    grown = _change(z, diameter, before)
    return (
        _far(z, diameter, before, _FAR_STEEL_MM, {}, units=units) or _another_surface(grown, units)
        or _moved(z, diameter, before, _EXPLAINED, units=units) or _grown_somewhere(grown, units)
    )  # fmt: skip


def _far(
    z: Floats, diameter: Floats, steel: MandrelProfile, far: float, others: Mapping[str, MandrelProfile], *, units: str,
    most: float = _MOST,
) -> str:  # fmt: skip
    distance = _distance(steel, z, diameter, most)
    if not distance > far:
        return ""
    undone = _undone(z, diameter, steel, others, units)
    left = {said: _distance(on, *changed, most) for said, on, changed in undone}
    best = min(left, key=lambda said: left[said])
    explained = best if left[best] < _EXPLAINED * distance else "no known mistake explains it"
    return _lies(distance, explained, units, "a quarter" if most == _MOST else "a tenth")


def _lies(distance: float, reason: str, units: str, share: str = "a quarter") -> str:
    size = in_words(round(distance, 2), units)
    return f"lies {size} (normal, at {share} of its stations or more) from the steel: {reason}"


def _moved(z: Floats, diameter: Floats, steel: MandrelProfile, explained: float, *, units: str) -> str:
    """What a shift along the axis explains of a profile that is near the steel; "" where it explains too little."""
    distance = _distance(steel, z, diameter)
    spacing = float(np.median(np.diff(z))) if len(z) > 1 else 0.0
    moves = {said: _distance(on, *changed) for said, on, changed in _rows(z, diameter, steel)}
    if spacing < _SLID_MM:
        moves.clear()
    slide = _slide(z, diameter, steel)
    if abs(slide) >= _SLID_MM:
        moves[_off_along(slide, units)] = _distance(steel, z + slide, diameter)
    best = min(moves, key=lambda said: moves[said], default="")
    if not best or moves[best] > explained * distance:
        return ""
    return _lies(distance, best, units)


def _change(z: Floats, diameter: Floats, before: MandrelProfile) -> Floats:
    """What the steel grew by since [mm a side, normal], at the stations that it had before."""
    inside = (z >= before.z[0]) & (z <= before.z[-1])
    return before.normal_distance(z, diameter, np.zeros(len(z)))[inside]


def _another_surface(grown: Floats, units: str) -> str:
    """What is said of a revision that is larger all along, or of one before it that was by a wall; "" of neither."""
    if not len(grown):
        return ""
    low, middle, high = np.quantile(grown, [1 - _NEARLY_ALL, 0.5, _NEARLY_ALL])
    if middle > _GROWN_MM:
        size = f"is {in_words(round(middle, 2), units)} a side larger than the steel was before"
        return f"{size}, and steel does not grow: was the outside of a bell measured?"
    if high < -_LAYER_MM and high - low < _LAYER_EVEN * -middle:
        size = f"is {in_words(round(-middle, 2), units)} a side smaller than the steel was before, tail and rim alike"
        return f"{size}: was the outside of a bell measured then?"
    return ""


def _grown_somewhere(grown: Floats, units: str) -> str:
    most = float(np.quantile(grown, _NEARLY_ALL)) if len(grown) else 0.0
    if most <= _GROWN_MM:
        return ""
    size = f"is {in_words(round(most, 2), units)} a side or more larger than the steel was before"
    return f"{size}, at a tenth of its stations, and steel does not grow: was z counted from elsewhere, now or then?"


def _distance(steel: MandrelProfile, z: Floats, diameter: Floats, most: float = _MOST) -> float:
    """Normal distance from the steel [mm] that at least `most` of the stations keep."""
    inside = (z >= steel.z[0] - 1) & (z <= steel.z[-1] + 1)
    if inside.sum() < max(3, len(z) // 2):
        return float("inf")
    distance = np.abs(steel.normal_distance(z, diameter, np.zeros(len(z))))[inside]
    return float(np.quantile(distance, most))


def _undone(
    z: Floats, diameter: Floats, steel: MandrelProfile, others: Mapping[str, MandrelProfile], units: str
) -> Undone:
    """Each mistake that may have been made, and the profile without it."""
    yield "radii were typed for diameters", steel, (z, 2 * diameter)
    half = np.where(diameter < _HALF_OR_WHOLE * np.interp(z, steel.z, steel.diameter), 2 * diameter, diameter)
    yield "radii were typed for diameters in some of the rows", steel, (z, half)
    yield "z was counted from the rim", steel, (z_from_tail("rim", z, z[-1])[::-1], diameter[::-1])
    wall = 2 * USUAL_WALL_MM / np.cos(steel.slope_at(z))
    yield "the outside was measured, not the inside", steel, (z, diameter - wall)
    yield from _rows(z, diameter, steel)
    slide = _slide(z, diameter, steel)
    yield _off_along(slide, units), steel, (z + slide, diameter)
    for name, other in others.items():
        yield f"it fits mandrel {name!r}", other, (z, diameter)


def _rows(z: Floats, diameter: Floats, steel: MandrelProfile) -> Undone:
    yield "diameters stand a row too low", steel, (z[:-1], diameter[1:])
    yield "diameters stand a row too high", steel, (z[1:], diameter[:-1])


def _slide(z: Floats, diameter: Floats, steel: MandrelProfile) -> float:
    return float(min(_SLIDES_MM, key=lambda d: _distance(steel, z + d, diameter)))


def _off_along(slide: float, units: str) -> str:
    return f"it lies {in_words(abs(slide), units)} off along the axis"
