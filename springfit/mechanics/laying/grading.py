"""How finely a bell is worked out, and where: element lengths along the sheet and places of the nose."""

from __future__ import annotations

__all__ = ["Fineness", "node_arcs", "nose_path"]

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.case import TOUCHING_MM, LayingCase
from springfit.mechanics.laying.kernels.contact import Nose

Array = NDArray[np.float64]

TABLE_STEP_MM = 0.1  # of arc at which step lengths, which change slowly, are added up
# Element length gained per arc behind what is spun, in elements at most; assumed
TAIL_GROWTH, COARSEST_TAIL = 0.25, 4.0
TURN_OF_AN_ELEMENT = 0.15  # [rad] at most in the tail: half of that between neighbouring facets; 9 degrees; assumed
FELT_DECAY_LENGTHS = 4.0  # e^-4 = 2 % of an edge effect is left there
LEAST_COSINE = 0.1  # guards a flat rim against division by nought: steeper than 84 degrees counts as that
# Of a decay length, sqrt(r t) / 1.285 on a cylinder: [3 (1 - nu^2)]^(1/4) at nu = 0.3 (Timoshenko & Woinowsky-Krieger,
# ch. 15), 0.7 % above that of 0.34. Here it only says how long steps are, as they were tried. `mechanics.shell.decay`
# says how far an edge is felt of any metal; it is not asked, for a result is kept by the sources of this room alone
# (`kernels.compiled.engine_version`), and would be taken for right after the other had changed.
SHELL_CONSTANT = 1.285
USUAL_DECAY_WALLS = 15.0  # that of a 125 mm rim of 0.5 mm sheet, where the steps were tried; longer ones take longer


@dataclass(frozen=True)
class Fineness:
    """Steps of the working: Gauss `layers` through the wall, elements and advances of the nose in walls.

    `hasty`: a guess of the nose's next step is given up sooner. It takes a seventh less time and moves gaps by 1 % of
    the largest, as any other way to the same equilibria does: little for a column, but a search that takes slopes from
    small differences may end elsewhere.

    Tried on five bells: twice the layers, half the elements or half the advances move the rim by 3 % of the largest
    gap at most, but by 5 % where elements are halved on a bell with little stand-off (c08 of the finite-element bells).
    An odd number of layers finds the elastic core that an even one misses.
    """

    layers: int = 17
    element_walls: float = 2.5
    advance_walls: float = 0.4
    hasty: bool = False


def decay_length(case: LayingCase, s: Array) -> Array:
    """How far a bending of the wall reaches along the meridian [mm]: that of a cylinder of the hoop radius."""
    hoop_radius = case.r / np.maximum(np.cos(case.slope), LEAST_COSINE)
    return np.asarray(np.interp(s, case.s, np.sqrt(hoop_radius * case.wall) / SHELL_CONSTANT))


def first_contact(case: LayingCase) -> float:
    """Arc [mm] at which the nose or the ring sets on: the last place that still lies on the steel."""
    off = np.flatnonzero(case.stand_off > TOUCHING_MM)
    first = case.s[max(int(off[0]) - 1, 0)] if len(off) else case.spin_start
    return float(min(first, case.spin_start))


def _stretch(case: LayingCase, s: Array) -> Array:
    """How much longer steps may be than usual: by as much as bending reaches further."""
    return np.maximum(decay_length(case, s) / (USUAL_DECAY_WALLS * case.wall), 1.0)


def _counted(s: Array, length: Array) -> Array:
    """How many steps of the local `length` there are up to each s."""
    density = 1.0 / length
    return np.concatenate([[0.0], np.cumsum(0.5 * np.diff(s) * (density[1:] + density[:-1]))])


def node_arcs(case: LayingCase, trim_at: float | None, fineness: Fineness) -> Array:
    """Node arcs [mm], one of them at the cut: equal elements where the sheet is worked, longer ones in the tail."""
    stops = [case.s[0], case.s[-1]]
    if trim_at is not None:
        if not case.s[0] < trim_at < case.s[-1]:
            raise ValueError(f"trim_at: found {trim_at!r}, expected an arc inside [{case.s[0]}, {case.s[-1]}]")
        stops.insert(1, trim_at)
    s = np.linspace(case.s[0], case.s[-1], int((case.s[-1] - case.s[0]) / TABLE_STEP_MM) + 2)
    usual = fineness.element_walls * case.wall
    start = first_contact(case)
    felt = start - FELT_DECAY_LENGTHS * float(decay_length(case, np.array([start]))[0])
    tail = np.minimum(usual + TAIL_GROWTH * np.maximum(felt - s, 0.0), COARSEST_TAIL * usual)
    bend = np.interp(s, case.s, np.abs(np.gradient(case.slope, case.s)))
    tail = np.clip(TURN_OF_AN_ELEMENT / np.maximum(bend, 1.0e-12), usual, tail)
    count = _counted(s, tail * _stretch(case, s))
    marks = np.interp(stops, s, count)
    parts = [
        np.interp(np.linspace(a, b, max(round(b - a), 1) + 1)[:-1], count, s) for a, b in pairwise(marks)
    ]
    return np.concatenate([*parts, [case.s[-1]]])


def _clear_height(case: LayingCase, start: float, radius: float) -> float:
    """Lift [mm] at which a nose over arc `start` touches the preform nowhere."""
    along = np.clip((case.s - start) / radius, -1.0, 1.0)
    within = np.abs(along) < 1.0
    hollow = case.stand_off[within] - radius * (1.0 - np.sqrt(1.0 - along[within] ** 2))
    return max(float(np.interp(start, case.s, case.stand_off)), float(np.max(hollow, initial=0.0)))


def nose_path(case: LayingCase, fineness: Fineness) -> tuple[Nose, ...]:
    """Places of ring and nose in order: lowered on to the first place that stands off, then along to the rim."""
    advance = fineness.advance_walls * case.wall
    start, end = first_contact(case), float(case.s[-1])
    ring = case.ring_radius or case.nose_radius
    height = _clear_height(case, start, case.nose_radius if start >= case.spin_start else ring)
    lifts = np.arange(np.ceil(height / advance), -1.0, -1.0) * advance
    s = np.linspace(start, end, max(int((end - start) / TABLE_STEP_MM), 1) + 1)
    count = _counted(s, advance * _stretch(case, s))
    arcs = np.interp(np.linspace(0.0, count[-1], max(int(np.ceil(count[-1])), 1) + 1), count, s)
    radii = np.where(arcs < case.spin_start, ring, case.nose_radius)
    lowered = [Nose(float(radii[0]), start, float(lift)) for lift in lifts]
    return tuple(lowered + [Nose(float(q), float(a)) for q, a in zip(radii[1:], arcs[1:], strict=True)])
