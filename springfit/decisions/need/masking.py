"""Which rows of a mandrel may be judged by the bell, and which must be left as they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from springfit.decisions.evidence import Fault
from springfit.flag_runs import runs_of_true
from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.geometry.seating import nearest_point
from springfit.learning.basis.spun_sheet import bead_arc

__all__ = ["BoolArray", "Masks", "fill_masked", "find_masks"]

BoolArray = NDArray[np.bool_]

NOSE_MM = 5.0  # of arc at the tail: the end face's edge and the first grip of the sheet, not the line; assumed
EDGE_MM = 3.0  # of arc at a trimmed rim: how an edge is laid by the last touch of the tool is chance; assumed
# Of arc within which the slope of a cut carried to the rim dies away: the decay length of an edge
# (`mechanics.shell.decay`) at a rim, 6.2 at 62.5 mm radius and 60 degrees in 0.5 mm sheet
CARRY_MM = 6.0
# Of arc from which the slope of a removal at the edge of its rows is taken; assumed
SLOPE_OVER_MM = 4.0
SHORTEST_RUN_OUT = 12.0  # [mm] a cut may not end more abruptly: the tool leaves a ring that prints through
RUN_OUT_SLOPE = 100.0  # [mm of run-out per mm of depth] practice of blending by skive: 0.01 rad is not felt


@dataclass(frozen=True)
class Masks:
    """Rows not to be judged, one flag a station of the mandrel for every reason.

    nose: the tail's first millimetres; rim: the bead, the edge and the steel past the trimmed rim; no_data:
    past the ends of the target; fault: under a process fault; joint: where tail and flare pieces meet;
    disputed: where the bells and the forecast disagree; unread: the tail where no bell was ever read.
    """

    nose: BoolArray
    rim: BoolArray
    no_data: BoolArray
    fault: BoolArray
    joint: BoolArray
    disputed: BoolArray
    unread: BoolArray

    @property
    def masked(self) -> BoolArray:
        """Rows with at least one reason."""
        return np.asarray(self.fault | self.but_for_faults)

    @property
    def but_for_faults(self) -> BoolArray:
        """Rows with a reason other than a process fault."""
        return np.asarray(self.nose | self.rim | self.no_data | self.joint | self.disputed | self.unread)

    @property
    def open(self) -> BoolArray:
        """Rows that may be judged and cut."""
        return ~self.masked


def find_masks(
    mandrel: Meridian,
    target: Meridian,
    *,
    rim_mm: float,
    beaded: bool = False,
    faults: Sequence[Fault] = (),
    joint_mm: tuple[float, float] | None = None,
    disputed: BoolArray | None = None,
    unread: BoolArray | None = None,
) -> Masks:
    """Rows of `mandrel` that must not be judged.

    rim_mm: arc at which the bell is trimmed; beaded: whether a bead is then rolled of what lies before it;
    faults: process faults whose stretch is masked; joint_mm: arc from and to of a joint between two pieces;
    disputed: (n,) rows where bells and forecast disagree; unread: (n,) rows of the tail where no bell was ever read.
    """
    s = mandrel.s
    _, distance = nearest_point(target, mandrel.z, mandrel.r)
    fault = np.zeros(s.size, dtype=bool)
    for each in faults:
        fault |= (s >= each.s_from_mm) & (s <= each.s_to_mm)
    joint = np.zeros(s.size, dtype=bool) if joint_mm is None else (s >= joint_mm[0]) & (s <= joint_mm[1])
    doubtful, unseen = (np.zeros(s.size, dtype=bool) if rows is None else rows for rows in (disputed, unread))
    rim = s > min(rim_mm - EDGE_MM, bead_arc(mandrel, rim_mm) if beaded else rim_mm)
    return Masks(s < NOSE_MM, rim, np.isnan(distance), fault, joint, doubtful, unseen)


def fill_masked(s: FloatArray, removal: FloatArray, open_rows: BoolArray) -> FloatArray:
    """The removal [mm per side] with a value on the masked rows too, joined without a kink.

    Past the last open row the removal is carried on to the rim, where the tool runs off the steel (a step under the
    bead would print), its slope dying away within some millimetres. Every other masked stretch is left uncut, the
    removal dying away within it (in its first half at most, so that two sides cannot meet) over 12 mm or 100 times
    its depth. No kink, because a kink in the steel is a crease, and springs back as one. Nor is a stretch left uncut
    that is shorter than any run-out: what lies beside it is carried straight across.
    """
    if not open_rows.any():
        return np.zeros_like(removal)
    open_rows, removal = _carried_across(s, removal, open_rows)
    filled = np.where(open_rows, removal, 0.0)
    runs = runs_of_true(open_rows)
    for number, (first, last) in enumerate(runs):
        if first > 0:
            _die_away(filled, s, removal, (first, last), _masked_run(open_rows, first - 1, -1))
        if number < len(runs) - 1:
            _die_away(filled, s, removal, (last, first), _masked_run(open_rows, last + 1, 1))
    first, last = runs[-1]
    far = s[last + 1 :] - s[last]
    filled[last + 1 :] = removal[last] + _rise(s, removal, last, first) * CARRY_MM * (
        1.0 - np.exp(-far / CARRY_MM)
    )
    return filled


def _carried_across(s: FloatArray, removal: FloatArray, open_rows: BoolArray) -> tuple[BoolArray, FloatArray]:
    """Open rows with the masked stretches between them that are too short to run out in, and the removal there too."""
    across = open_rows.copy()
    for (_, last), (first, _) in pairwise(runs_of_true(open_rows)):
        across[last:first] |= s[first] - s[last] < SHORTEST_RUN_OUT
    return across, np.where(open_rows, removal, np.interp(s, s[open_rows], removal[open_rows]))


def _die_away(
    filled: FloatArray, s: FloatArray, removal: FloatArray, edge: tuple[int, int], stretch: NDArray[np.intp]
) -> None:
    """Add to a masked stretch what runs out into it from an open run that ends at edge[0] and reaches to edge[1]."""
    depth, start = float(removal[edge[0]]), float(s[edge[0]])
    half = 0.5 * abs(float(s[stretch[-1]]) - start)
    length = max(min(max(SHORTEST_RUN_OUT, RUN_OUT_SLOPE * abs(depth)), half), 1e-9)
    gone = np.clip(np.abs(s[stretch] - start) / length, 0.0, 1.0)
    outward = _rise(s, removal, *edge) * float(np.sign(s[stretch[0]] - start))
    left = (1.0 - gone) ** 2
    filled[stretch] += depth * left * (1.0 + 2.0 * gone) + outward * length * gone * left


def _rise(s: FloatArray, removal: FloatArray, edge: int, inner: int) -> float:
    """Slope d removal / d s at an edge of an open run that reaches to `inner`, over a few millimetres."""
    step = 1 if inner >= edge else -1
    near = [i for i in range(edge, inner + step, step) if abs(s[i] - s[edge]) <= SLOPE_OVER_MM]
    if len(near) < 2:
        return 0.0
    return float(np.polyfit(s[near] - s[edge], removal[near], min(2, len(near) - 1))[-2])


def _masked_run(open_rows: BoolArray, start: int, step: int) -> NDArray[np.intp]:
    """Indices of the masked rows from `start` onward in direction `step`, up to the next open row."""
    rest = np.arange(start, open_rows.size) if step > 0 else np.arange(start, -1, -1)
    stop = np.flatnonzero(open_rows[rest])
    return rest[: stop[0]] if stop.size else rest
