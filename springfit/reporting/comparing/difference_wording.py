"""What a change of conditions does to a bell, zone by zone, in a line that stands beside a cut: the process lever."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from springfit.normal_errors import BAND_LEVEL
from springfit.reporting.wording.length_wording import Units, amount, bare_amount
from springfit.watching.batches.bell_zones import ZONES, zones_of
from springfit.watching.wear import LEAST_TOLD_MM

if TYPE_CHECKING:
    from springfit.decisions.compared_conditions import Difference

__all__ = ["ZoneDifference", "difference_words", "zone_differences"]

TOLD_ZONES = ("rim", "flare", "overlap", "throat")  # what a change does most comes first; a tail hardly moves


@dataclass(frozen=True)
class ZoneDifference:
    """A zone's difference where it is largest, at the very rim in the rim's zone: `z_mm`, the difference per side with
    its band [mm]."""

    zone: str
    z_mm: float
    difference_mm: float
    low_mm: float
    high_mm: float


def zone_differences(difference: Difference) -> tuple[ZoneDifference, ...]:
    """A row a zone that the bell has, from the rim to the throat."""
    return tuple(_zones(difference))


def difference_words(difference: Difference, units: Units) -> str:
    """`anneal fully against usual: rim 6.0 thou smaller (3.0 to 9.0); flare ...`"""
    told = [_said(one, units) for one in zone_differences(difference)]
    return f"{difference.name} against {difference.against}: {'; '.join(told)}."


def _zones(difference: Difference) -> Iterator[ZoneDifference]:
    zone = zones_of(difference.arc, difference.slope, difference.draw_end, ())
    low, high = difference.band(BAND_LEVEL)
    for name in TOLD_ZONES:
        rows = np.flatnonzero(zone == ZONES.index(name))
        if name == "rim":  # every bell has one, steep or not
            rows = np.array([zone.size - 1])
        if not rows.size:
            continue
        row = int(rows[np.argmax(np.abs(difference.gap[rows]))])
        yield ZoneDifference(
            name, float(difference.z[row]), float(difference.gap[row]), float(low[row]), float(high[row])
        )


def _said(one: ZoneDifference, units: Units) -> str:
    most = max(abs(one.low_mm), abs(one.high_mm))
    if most == 0.0:
        return f"{one.zone} the same"
    if most < LEAST_TOLD_MM:
        return f"{one.zone} the same to {amount(most, units)}"
    word, size = _word(one.difference_mm), amount(abs(one.difference_mm), units)
    nothing = size == amount(0.0, units)
    said = f"{one.zone} no different" if nothing else f"{one.zone} {size} {word}"
    edges = (one.low_mm, one.high_mm) if one.difference_mm >= 0.0 else (one.high_mm, one.low_mm)
    least, greatest = (bare_amount(abs(edge), units) for edge in edges)
    if one.low_mm * one.high_mm >= 0.0:
        return f"{said} ({least} to {greatest})"
    return f"{said} ({least} {_word(edges[0])} to {greatest} {word})"


def _word(difference_mm: float) -> str:
    return "larger" if difference_mm >= 0.0 else "smaller"
