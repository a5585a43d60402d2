"""The cut table: a new line turned as steps whose inside corners touch it, then skived down to it.

A lathe without a copying slide makes a curve as a staircase. Each step is a cylinder of the larger radius of
its interval, so nothing is ever cut below the line; the inside corners lie on it (on the line plus skive
stock), and the skive takes the ridges down until the corners just vanish. Steps lie so close that the
straight line from corner to corner is within 0.025 mm of the curve: what the skive would have to guess.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import pandas as pd

from springfit.decisions.cut_tables.turning_sizes import radius_at_z
from springfit.flag_runs import runs_of_true
from springfit.geometry.meridian import Meridian, offset
from springfit.geometry.points import STEEP_RAD, FloatArray

__all__ = ["CUT_COLUMNS", "Steps", "cut_table", "joint_of", "shortfall", "turned_steps"]

CHORD_MM = 0.025  # normal distance of curve and straight between corners; a thou, as a diameter may be out
LONGEST_MM = 6.35  # of arc: a quarter inch, the stations a shop measures at
SHORTEST_MM = 0.2  # of arc: finer than a hand wheel can be set
CREST_MM = 0.05  # of arc: over it a crest bent to a radius of 1 mm rises by 0.0003 mm
LEAST_SINE = 0.1  # guards against division by nought: rows read as z, whose limits it serves, have a sine above 0.7
SHORTER = 0.92  # times its length, until a step's chord is near enough: so much may be given away; a bound on time
SAMPLES = 17  # along a chord, to find its largest distance from the curve: within 1 % for any arc
UNDER_MM = 0.0025  # how far a table may ever lead below the line, its rounding included; a tenth of a thou
PRINTED_MM = 0.00254  # 0.0001 in, the last digit of a printed size; in mm tables it is 0.001
OVERSIZE_MM = 0.025  # inspection: a diameter may be this much over its size and nothing under; a thou
# A joint may stand where 25 mm of line are a cone to within 0.025 mm; an inch and a thou; assumed
JOINT_MM, JOINT_SAG = 25.0, 0.025
NOTHING_MM = 0.0005  # per side: below this a row would be printed as nothing
# A curve bent the other way by less than this over a step is straight; below what a lathe turns true; assumed
REVERSED_MM = 0.001

CUT_COLUMNS = (
    "step",
    "piece",
    "read",
    "z_mm",
    "diameter_mm",
    "finish_diameter_mm",
    "do_not_pass_diameter_mm",
    "present_diameter_mm",
    "removal_mm",
    "reversed",
    "inspect_low_mm",
    "inspect_high_mm",
    "found_mm",
)


@dataclass(frozen=True)
class Steps:
    """Inside corners of a staircase, tail to rim.

    s_mm: arc of each corner on the line, s_mm[0] where the cut begins. z_mm, radius_mm: where the corners
    lie. Step i runs from corner i to corner i + 1 at turn_radius_mm[i], the larger radius of its interval
    (one fewer).
    """

    s_mm: FloatArray
    z_mm: FloatArray
    radius_mm: FloatArray
    turn_radius_mm: FloatArray

    def as_printed(self) -> Steps:
        """The steps as a table in inches prints them, to 0.0001 in: the coarsest a maker works from."""
        z, diameter = (np.round(x / PRINTED_MM) * PRINTED_MM for x in (self.z_mm, 2.0 * self.turn_radius_mm))
        return replace(self, z_mm=z, turn_radius_mm=0.5 * diameter)


def turned_steps(line: Meridian, s_from: float, s_to: float, *, marked: FloatArray | None = None) -> Steps:
    """Steps along `line` from arc s_from to s_to [mm], spaced so that each chord is within 0.025 mm of it.

    marked: (m,) arcs [mm] that are to be corners, in order: where the maker has marked the steel.
    """
    inside = np.zeros(0) if marked is None else marked[(marked > s_from + SHORTEST_MM) & (marked < s_to - SHORTEST_MM)]
    corners = [s_from]
    for end in (*inside, s_to):
        while corners[-1] < end - 1e-9:
            corners.append(_next_corner(line, corners[-1], float(end)))
    s = np.array(corners)
    at = line.at(s)
    largest = [float(_between(line, a, b).max()) for a, b in pairwise(s)]
    return Steps(s, at.z, at.r, np.array(largest))


def shortfall(steps: Steps, line: Meridian) -> float:
    """Largest depth [mm, normal] by which the solid rebuilt from the steps lies under `line`; 0 when nowhere.

    A point of the line outside a step's cylinder is taken to be as far from the solid as its radius is over
    the step, times cos(slope): no less than the true distance, so the check is on the strict side.
    """
    inside = (line.s >= steps.s_mm[0]) & (line.s <= steps.s_mm[-1])
    dense = np.concatenate((line.s[inside], np.linspace(steps.s_mm[0], steps.s_mm[-1], 4000)))
    points = line.at(np.sort(dense))
    step = np.clip(np.searchsorted(steps.z_mm, points.z, side="left") - 1, 0, steps.turn_radius_mm.size - 1)
    under = (points.r - steps.turn_radius_mm[step]) * np.cos(points.slope)
    return float(np.max(under, initial=0.0))


def cut_table(
    present: Meridian,
    cut: FloatArray,
    most: FloatArray,
    *,
    skive_mm: float,
    whole: bool = False,
    rim_mm: float = np.inf,
    marked_mm: FloatArray | None = None,
    joint_mm: float | None = None,
) -> pd.DataFrame:
    """Rows of the cut table, one a step and stretch after stretch, tail to rim; empty when nothing is cut.

    present: the steel; cut, most: (n,) removal now and never to pass [mm per side]; skive_mm: stock left for
    the skive along the normal; whole: make a table of the whole line, as for a new flare, whatever is cut;
    rim_mm: arc past which no size is stated, where the tool runs off. marked_mm: z [mm] that the maker has marked on
    the steel, rows where the cut meets them. joint_mm: z at which tail and flare part, by the steel unless stated.
    Rows where nothing comes off are left out.
    diameter is what the step is turned to, finish_diameter the line at the same z. Where `read` is "z" the
    line is steeper than 45 degrees: the row is checked as the place of its finish diameter, and the
    inspection limits are z; elsewhere they are diameters (nothing under, 0.025 mm over). found is left blank
    for the maker.
    """
    if not skive_mm >= 0.0:
        raise ValueError(f"the skive stock is {skive_mm} mm, expected 0 or more")
    line, limit = offset(present, -cut), offset(present, -most)
    rows: list[dict[str, object]] = []
    for first, last in runs_of_true((np.full(cut.size, True) if whole else cut > 0.0) & (present.s <= rim_mm)):
        rows += _rows(present, line, limit, max(first - 1, 0), last, skive_mm, marked_mm)
    table = pd.DataFrame(rows, columns=list(CUT_COLUMNS))
    joint = joint_of(present) if joint_mm is None else joint_mm
    table["piece"] = np.where(table["z_mm"] <= joint, "tail", "flare")
    if not whole:
        table = table[table["removal_mm"] > NOTHING_MM].reset_index(drop=True)
    table["step"] = np.arange(1, len(table) + 1)
    return table


def _rows(
    present: Meridian, line: Meridian, limit: Meridian, first: int, last: int, skive_mm: float,
    marked_mm: FloatArray | None,
) -> list[dict[str, object]]:  # fmt: skip
    turned = offset(line, skive_mm)
    marked = None if marked_mm is None else np.interp(marked_mm, turned.z, turned.s)
    steps = turned_steps(turned, float(turned.s[first]), float(turned.s[last]), marked=marked)
    under = shortfall(steps.as_printed(), turned)
    if under > UNDER_MM:
        raise ArithmeticError(f"the steps lead {under:.4f} mm below the line, expected {UNDER_MM} mm at most")
    arc = np.interp(steps.s_mm, turned.s, present.s)
    finish, now = radius_at_z(line, steps.z_mm), radius_at_z(present, steps.z_mm)
    slope = np.interp(arc, present.s, line.slope)
    removal = np.interp(arc, present.s, _normal_removal(present, line))
    bent = np.interp(arc, present.s, line.curvature)
    rows: list[dict[str, object]] = []
    turn, grows = steps.turn_radius_mm, bool(np.any(removal < -NOTHING_MM))
    for i in range(1, steps.s_mm.size):
        steep = bool(slope[i] > STEEP_RAD)
        length = steps.s_mm[i] - steps.s_mm[i - 1]
        z, diameter = float(steps.z_mm[i]), 2.0 * float(finish[i])
        give = 0.5 * OVERSIZE_MM / max(np.sin(slope[i]), LEAST_SINE)
        rows.append(
            {
                "piece": "",
                "read": "z" if steep else "diameter",
                "z_mm": z,
                "diameter_mm": 2.0 * float(turn[i - 1] if grows else np.fmin(turn[i - 1], now[i])),
                "present_diameter_mm": 2.0 * float(now[i]),
                "finish_diameter_mm": diameter,
                "do_not_pass_diameter_mm": 2.0 * float(radius_at_z(limit, steps.z_mm[i : i + 1])[0]),
                "removal_mm": float(removal[i]),
                "reversed": bool(bent[i] * length**2 / 8 < -REVERSED_MM),
                "inspect_low_mm": z - give if steep else diameter,
                "inspect_high_mm": z if steep else diameter + OVERSIZE_MM,
                "found_mm": float("nan"),
            }
        )
    return rows


def _next_corner(line: Meridian, start: float, end: float) -> float:
    """The furthest corner whose chord from `start` stays within 0.025 mm of the line."""
    length = min(LONGEST_MM, end - start)
    while length > SHORTEST_MM and _sag(line, start, start + length) > CHORD_MM:
        length = max(SHORTEST_MM, SHORTER * length)
    stop = start + length
    # do not leave a sliver for the last step
    return end if end - stop < SHORTEST_MM else stop


def _sag(line: Meridian, start: float, end: float) -> float:
    """Largest distance [mm] of the line between two arcs from the straight between them."""
    points = line.at(np.linspace(start, end, SAMPLES))
    z, r = points.z - points.z[0], points.r - points.r[0]
    return float(np.max(np.abs(z * r[-1] - r * z[-1])) / np.hypot(z[-1], r[-1]))


def _between(line: Meridian, start: float, end: float) -> FloatArray:
    """Radii of the line between two arcs, so close that a crest between two stations is among them."""
    return line.at(np.linspace(start, end, max(SAMPLES, int((end - start) / CREST_MM) + 2))).r


def _normal_removal(present: Meridian, line: Meridian) -> FloatArray:
    """Removal [mm per side] station by station: how far each one moved into the steel."""
    return np.sin(present.slope) * (line.z - present.z) - np.cos(present.slope) * (line.r - present.r)


def joint_of(present: Meridian) -> float:
    """z [mm] of the last place where the line is a cone over 25 mm: tail and flare part there."""
    cone = np.abs(present.curvature) * JOINT_MM**2 / 8 <= JOINT_SAG
    return float(present.z[np.flatnonzero(cone)[-1]]) if cone.any() else 0.0
