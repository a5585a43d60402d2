"""What laying says is locked in for recorded conditions, and how it changes with what nobody records.

One run of `mechanics.laying` for the conditions as written down and the shop's hand, blanks as usual, one for each
change of it, and one as the words are assumed to mean:

    stand_off   the preform stands off further everywhere
    closed      its rim comes back some way toward the steel
    strength    the sheet's whole flow curve lies higher
    start       the sheet leaves the steel further past the end of the draw
    skew        the preform is fullest nearer its rim

Changes are finite differences over a step as large as sheets and hands differ, so that a column says what such a change
does and not what an infinitesimal one would. Runs are kept on disk by their content, and many go side by side.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.hand import AS_ASSUMED, Hand
from springfit.learning.basis.spun_sheet import blank_rim_arc, draw_end_arc
from springfit.learning.basis.stress_fields import LAID, LAID_CHANGES
from springfit.mechanics.laying import Laid, LayingCase, lay_many
from springfit.mechanics.laying.grading import Fineness
from springfit.mechanics.laying.shop_words import SheetForm, laying_case
from springfit.mechanics.metal.alloys import alloy
from springfit.records.conditions import Conditions

__all__ = ["LaidState", "kept_in", "laid_states", "sheet_on_steel"]

Floats = NDArray[np.float64]

# [mm] of drawn tail laid too: nine decay lengths of an edge (`mechanics.shell.decay`), 4.4 mm at 40 mm radius in 0.8 mm
# sheet
FELT_MM = 40.0
DRAWN_AT_MOST = 0.95  # of the blank's arc: where nothing is left to spin there is nothing to lay; assumed
# [mm] of arc between the stations of the steel that the sheet is laid on; assumed fine enough
STATION_STEP = 1.0
# Steps of the finite differences: stand-offs are assumed and may be half as much again, sheets of one temper differ by
# up to a fifth (natural logarithms; the ASTM B36 tensile ranges of C26000 are 10 to 18 % wide); a rim comes back by one
# step, from the top of a hump to two thirds of its length, where `closed` is 1; a start is judged by eye to some
# millimetres of sixty; a skew of a quarter is what tells one hand's hump from another's by eye (the last two: common
# practice, no source).
STEP: Mapping[str, float] = {"stand_off": 0.4, "closed": 1.0, "strength": 0.2, "start": 0.08, "skew": 0.25}
# That a rim may come back along its hump at all was kept by what `sample-shop-laid` scored.
RIM_STEP = 0.8  # of the logit of the rim's place, per unit of `closed`; assumed
# Columns carry weights that the records decide, so they are worked out at a quarter of the cost of a bell by itself: on
# 48 bells drawn over the trade within 2 or 3 % rms of the largest gap of the fine working on half of them, 6 % on nine
# in ten. Advances of a quarter of an element serve best: longer elements take back part of what longer advances do.
# Elements of 4 and advances of 1 wall come no nearer (2 and 6 %) and take two thirds longer.
COLUMNS = Fineness(layers=9, element_walls=6.0, advance_walls=1.5, hasty=True)


@dataclass(frozen=True)
class LaidState:
    """Locked-in stress of a bell on its steel at `arc` (m,) [mm] up to the blank's rim.

    `stress` by state ("laid", "assumed", and `LAID_CHANGES` per unit of change) and by share: hoop -N_theta/t,
    meridional N_s/t, moment 4 M_s/t^2 and hoop_moment 4 M_theta/t^2, each (m,) [MPa].
    """

    arc: Floats
    stress: Mapping[str, Mapping[str, Floats]]

    def at(self, state: str, arc: Floats) -> dict[str, Floats]:
        """The stresses of one state at other arcs [mm], by share."""
        there = arc >= self.arc[0]
        return {share: there * np.interp(arc, self.arc, values) for share, values in self.stress[state].items()}


def laid_states(
    bells: Sequence[tuple[Meridian, Conditions]], hand: Hand, *, progress: Callable[[str], None] = lambda _: None
) -> tuple[LaidState | None, ...]:
    """The state of a bell of each mandrel and conditions as `hand` lays it; None where the laying model finds no
    equilibrium.

    Raises UnknownAlloyError for an alloy that is not in the table.
    """
    cases = [case for mandrel, conditions in bells for case in _cases(mandrel, conditions, hand)]
    laid = lay_many(cases, jobs=-1, folder=kept_in(), fineness=COLUMNS, progress=_told(progress))
    each = len(LAID)
    return tuple(_state(cases[i].wall, laid[i : i + each]) for i in range(0, len(cases), each))


def sheet_on_steel(mandrel: Meridian, conditions: Conditions, form: SheetForm) -> LayingCase:
    """The sheet of a batch on its steel, from what is felt of the drawn tail to the blank's rim; blanks as usual."""
    blank, start = blank_rim_arc(mandrel, conditions), draw_end_arc(mandrel, conditions)
    first = max(0.0, min(start, DRAWN_AT_MOST * blank) - FELT_MM)
    steel = mandrel.at(np.linspace(first, blank, int((blank - first) / STATION_STEP) + 2))
    return laying_case(
        steel.s, steel.z, steel.r, steel.slope, wall=conditions.wall_or_usual, metal=alloy(conditions.alloy),
        temper=conditions.temper, anneal=conditions.anneal, draw_end=min(start, DRAWN_AT_MOST * blank),
        hump=conditions.hump, passes=conditions.passes, nose_radius=conditions.tool_nose_mm, form=form,
    )  # fmt: skip


def _cases(mandrel: Meridian, conditions: Conditions, hand: Hand) -> list[LayingCase]:
    """The case as laid by the hand, each change of it in the order of LAID_CHANGES, and last the one assumed."""
    base = hand.form(conditions)
    changed = {
        "stand_off": replace(base, further=base.further + STEP["stand_off"]),
        "closed": hand.form(conditions, rim_more=RIM_STEP * STEP["closed"]),
        "strength": replace(base, stronger=base.stronger + STEP["strength"]),
        "start": replace(base, start=base.start + STEP["start"]),
        "skew": replace(base, skew=base.skew + STEP["skew"]),
    }
    forms = (base, *(changed[change] for change in LAID_CHANGES), AS_ASSUMED.form(conditions))
    return [sheet_on_steel(mandrel, conditions, form) for form in forms]


def kept_in() -> Path:
    """The folder that laying runs are kept in: the user's cache, where a shop's runs are found again."""
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "springfit" / "laying"


def _told(progress: Callable[[str], None]) -> Callable[[int, int], None]:
    return lambda done, of: progress(f"laying sheets on steel: {done} of {of}") if done % len(LAID) == 0 else None


def _state(wall: float, laid: Sequence[Laid | None]) -> LaidState | None:
    """The state of a sheet from its runs, in the order of `_cases`."""
    base, *changed, assumed = laid
    if base is None:
        return None
    had = _stress(base, wall)
    stress = {"laid": had, "assumed": had if assumed is None else _stress(assumed.at(base.s), wall)}
    for change, other in zip(LAID_CHANGES, changed, strict=True):
        new = had if other is None else _stress(other.at(base.s), wall)
        stress[change] = {share: (new[share] - had[share]) / STEP[change] for share in had}
    return LaidState(base.s, stress)


def _stress(laid: Laid, wall: float) -> dict[str, Floats]:
    return {
        "hoop": -laid.n_theta / wall,
        "meridional": laid.n_s / wall,
        "moment": 4.0 * laid.m_s / wall**2,
        "hoop_moment": 4.0 * laid.m_theta / wall**2,
    }
