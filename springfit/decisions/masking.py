"""Which rows of a mandrel may be judged by the bell, and which must be left as they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.decisions.evidence import Fault
from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.geometry.seating import nearest_point

__all__ = ["BoolArray", "Masks", "fill_masked", "find_masks", "stretches"]

BoolArray = NDArray[np.bool_]

NOSE_MM = 5.0  # of arc at the tail: the end face's edge and the first grip of the sheet, not the line
EDGE_MM = 3.0  # of arc at a trimmed rim: how an edge is laid by the last touch of the tool is chance
SHORTEST_RUN_OUT = 12.0  # [mm] a cut may not end more abruptly: the tool leaves a ring that prints through
RUN_OUT_SLOPE = 100.0  # [mm of run-out per mm of depth] practice of blending by skive: 0.01 rad is not felt


@dataclass(frozen=True)
class Masks:
    """Rows not to be judged, one flag a station of the mandrel for every reason.

    nose: the tail's first millimetres; rim: the bead, the edge and the steel past the trimmed rim; no_data:
    past the ends of the target; fault: under a process fault; joint: where tail and flare pieces meet.
    """

    nose: BoolArray
    rim: BoolArray
    no_data: BoolArray
    fault: BoolArray
    joint: BoolArray

    @property
    def masked(self) -> BoolArray:
        """Rows with at least one reason."""
        return np.asarray(self.nose | self.rim | self.no_data | self.fault | self.joint)

    @property
    def open(self) -> BoolArray:
        """Rows that may be judged and cut."""
        return ~self.masked

    def words(self) -> tuple[str, ...]:
        """The first reason of every row, empty for an open row."""
        names = ("fault", "joint", "nose", "rim", "no_data")
        flags = np.array([getattr(self, name) for name in names])
        return tuple(names[int(np.argmax(column))] if column.any() else "" for column in flags.T)


def find_masks(
    mandrel: Meridian,
    target: Meridian,
    *,
    rim_mm: float,
    bead_mm: float = 0.0,
    faults: Sequence[Fault] = (),
    joint_mm: tuple[float, float] | None = None,
) -> Masks:
    """Rows of `mandrel` that must not be judged.

    rim_mm: arc at which the bell is trimmed; bead_mm: arc taken up by a bead, 0 when the rim is not beaded;
    faults: process faults whose stretch is masked; joint_mm: arc from and to of a joint between two pieces.
    """
    s = mandrel.s
    _, distance = nearest_point(target, mandrel.z, mandrel.r)
    fault = np.zeros(s.size, dtype=bool)
    for each in faults:
        fault |= (s >= each.s_from_mm) & (s <= each.s_to_mm)
    joint = np.zeros(s.size, dtype=bool) if joint_mm is None else (s >= joint_mm[0]) & (s <= joint_mm[1])
    return Masks(s < NOSE_MM, s > rim_mm - max(bead_mm, EDGE_MM), np.isnan(distance), fault, joint)


def fill_masked(s: FloatArray, removal: FloatArray, open_rows: BoolArray) -> FloatArray:
    """The removal [mm per side] with a value on the masked rows too.

    Past the last open row the value is carried on to the rim, where the tool runs off the steel: a step under
    the bead would print. Every other masked stretch is left uncut, the removal dying away within it (in its
    first half at most, so that two sides cannot meet) over 12 mm or 100 times its depth.
    """
    if not open_rows.any():
        return np.zeros_like(removal)
    filled = np.where(open_rows, removal, 0.0)
    places = np.flatnonzero(open_rows)
    filled[places[-1] :] = removal[places[-1]]
    edges = np.flatnonzero(np.diff(open_rows.astype(int)))
    for edge in edges:
        last_open, step = (edge, 1) if open_rows[edge] else (edge + 1, -1)
        if last_open == places[-1]:
            continue
        stretch = _masked_run(open_rows, int(last_open + step), step)
        depth = removal[last_open]
        half = 0.5 * abs(s[stretch[-1]] - s[last_open])
        length = min(max(SHORTEST_RUN_OUT, RUN_OUT_SLOPE * abs(depth)), half)
        gone = np.clip(np.abs(s[stretch] - s[last_open]) / max(length, 1e-9), 0.0, 1.0)
        filled[stretch] += depth * (1.0 - gone) ** 2 * (1.0 + 2.0 * gone)
    return filled


def _masked_run(open_rows: BoolArray, start: int, step: int) -> NDArray[np.intp]:
    """Indices of the masked rows from `start` onward in direction `step`, up to the next open row."""
    rest = np.arange(start, open_rows.size) if step > 0 else np.arange(start, -1, -1)
    stop = np.flatnonzero(open_rows[rest])
    return rest[: stop[0]] if stop.size else rest


def stretches(flags: BoolArray) -> list[tuple[int, int]]:
    """First and last index of every unbroken run of true flags, tail to rim."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(int)))
    return [(int(first), int(stop) - 1) for first, stop in zip(edges[::2], edges[1::2], strict=True)]
