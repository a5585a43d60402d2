"""The patterns of faults that touch a whole bell or batch: wall, temper, length, seat, gauge, warmth, bead, lumps.

Each is what one unit of the fault does to every reading, normal to the steel; all are tried on one batch or one bell by
`pattern.best_of`. Local swellings have a search of their own (`learning.faults`), facets are in `facet_patterns`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.facets.finder import Facet
from springfit.learning.data.observations import Bell
from springfit.mechanics.shell.decay import decay_length
from springfit.watching.signatures.facet_patterns import facet_patterns, worn_patterns
from springfit.watching.signatures.pattern import Pattern

__all__ = ["Readings", "whole_patterns"]

Floats = NDArray[np.float64]

WALL_MM = 0.05  # 1 sd of a wrong sheet: one gauge number off in the usual walls, a tenth of them
# Of its wall that a bell may be thinner or thicker than its sheet with nothing wrong: two of the sds that thinning has
# beforehand (`structures`, Sugar et al. 2016). Gauge numbers of sheet are 11 % apart (the 39th root of 92).
THINNED = 0.04
# log: 30 % softer or 40 % harder is one temper off (Copper Development Association table: yield of H01 to H02 25 %)
SCALE = 0.35
LENGTH_MM = 0.4  # over the whole bell; a stretched bell is some tenths long; common practice, no source
OFF_SEAT_MM = 1.5  # a bell that caught on its seam or a chip; twice what a hand leaves it off; assumed
# Off its place when all is well: hands leave a bell 0.1 to 0.8 mm off its seat, a line is met within 0.3 mm as any
# station is, and a rim face is ragged by as much again; common practice, no source
HANDS_REACH_MM = {"tail": 0.8, "witness": 0.3, "rim": 0.6}
ZERO_MM = 0.05  # a caliper knocked off its zero: two thou; common practice, no source
WARM_K, EXPANSION = 25.0, 19.9e-6  # a bell straight off the lathe; 1/K of C26000, its makers' sheet
PULLED_MM = 0.15  # at the rim; a bead pulls the edge by some hundredths to tenths; common practice, no source
POISSON = 0.34  # of brass, 0.33 to 0.34 in `alloys.csv`: how far a pull is felt hardly hangs on it
LUMP_MM = 0.05  # height of the waves that a nose leaves; two thou; assumed
LUMP_WAVES = (8.0, 11.0, 15.0, 20.0)  # [mm] apart, where the stations can tell; assumed
PER_WAVE = 2.5  # stations a wave needs; two are the least that show a wave


@dataclass(frozen=True)
class Readings:
    """The rows of one or more bells, (rows,): `gap_per_share` [mm] is what a log multiplier of springback does,
    `rim_arc` [mm] where the bell ends, `length` [mm] of the steel, `z` and `radius` [mm] of each row, `facets` of
    the steel."""

    bells: Sequence[Bell]
    gap_per_share: Floats
    rim_arc: float
    length: float
    draw_end: float
    z: Floats
    radius: Floats
    facets: Sequence[Facet] = ()
    may_be_worn: Sequence[Facet] = ()
    """Those of them whose wear these readings could tell."""

    def column(self, name: str) -> Floats:
        """A column of the readings."""
        return np.concatenate([np.asarray(getattr(bell, name), dtype=float) for bell in self.bells])

    def of_sessions(self, name: str) -> NDArray[np.str_]:
        """A word of each reading's setting-up: datum, stage or gauge_id."""
        words = [np.array([getattr(s, name) for s in bell.sessions])[bell.session] for bell in self.bells]
        return np.concatenate(words)


def whole_patterns(readings: Readings) -> tuple[Pattern, ...]:
    """Every pattern that these readings could show."""
    return tuple(pattern for pattern in _all_of(readings) if np.any(pattern.columns))


def _all_of(readings: Readings) -> Iterator[Pattern]:
    arc, slope, springs = readings.column("arc"), readings.column("slope"), readings.column("springs")
    ends, sine = (float(arc.min()), float(arc.max())), np.sin(slope)
    other_sheet = _one("wrong_wall", readings.column("through_wall"), WALL_MM, "mm", ends)
    yield replace(other_sheet, harmless=THINNED * readings.bells[0].wall)
    yield _one("temper", readings.gap_per_share * springs, SCALE, "share", ends)
    drawn = np.clip((arc - readings.draw_end) / max(readings.length - readings.draw_end, 1.0), 0.0, 1.0)
    yield _one("lengthened", -sine * drawn * springs, LENGTH_MM, "mm", (readings.draw_end, ends[1]))
    datum, stage, gauge = (readings.of_sessions(name) for name in ("datum", "stage", "gauge_id"))
    for name in np.unique(datum):
        if name != "free":
            seat = _one("off_seat", -sine * (datum == name) * springs, OFF_SEAT_MM, "mm", ends)
            yield replace(seat, harmless=HANDS_REACH_MM[str(name)])
    for name in np.unique(gauge):
        zero = _one("gauge_zero", (gauge == name) * springs, ZERO_MM, "mm", ends)
        yield replace(zero, gauge_id=str(name))
    warm = EXPANSION * (readings.radius * np.cos(slope) - readings.z * sine) * springs
    yield _one("warm", warm, WARM_K, "K", ends, sign=1)
    back = readings.rim_arc - arc
    rim = int(np.argmax(readings.radius))
    decay = float(decay_length(readings.radius[rim], slope[rim], wall=readings.bells[0].wall, poisson_ratio=POISSON))
    pulled = np.exp(-np.clip(back, 0.0, None) / decay) * np.cos(back / decay) * (stage == "beaded") * springs
    yield _one("bead_pull", pulled, PULLED_MM, "mm", (readings.rim_arc - 3.0 * decay, readings.rim_arc))
    yield from _lumps(readings, arc, springs)
    yield from facet_patterns(arc, springs, readings.facets, readings.length)
    yield from worn_patterns(arc, springs * (1.0 - readings.column("felt")), readings.may_be_worn)


def _lumps(readings: Readings, arc: Floats, springs: Floats) -> Iterator[Pattern]:
    steps = [np.median(np.diff(np.unique(np.round(bell.arc, 1)))) for bell in readings.bells if len(bell.arc) > 3]
    if not steps:
        return
    spun = (arc > readings.draw_end) * springs
    for wave in LUMP_WAVES:
        if wave >= PER_WAVE * float(np.median(steps)):
            phase = 2.0 * np.pi * arc / wave
            columns = np.column_stack((np.cos(phase) * spun, np.sin(phase) * spun))
            at = (readings.draw_end, float(arc.max()))
            yield Pattern("nose_lumps", columns, np.full(2, LUMP_MM), "mm", at)


def _one(
    name: str, column: Floats, usual: float, unit: str, at: tuple[float, float], *, sign: int = 0
) -> Pattern:
    return Pattern(name, np.asarray(column, dtype=float)[:, None], np.array([usual]), unit, at, sign)
