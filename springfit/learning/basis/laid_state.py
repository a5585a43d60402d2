"""What laying says is locked in for recorded conditions, and how it changes with what nobody records.

One run of `mechanics.laying` for the conditions as written down, blanks as usual, and one for each of `LAID_CHANGES`:

    stand_off   the preform stands off further everywhere
    lean        it stands off further at the rim than at the draw end
    strength    the sheet's whole flow curve lies higher

each a finite difference over a step as large as sheets and hands differ, so that a column says what such a change does
and not what an infinitesimal one would. Runs are kept on disk by their content, and many go side by side.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from springfit.geometry.meridian import Meridian
from springfit.learning.basis.fields import LAID_CHANGES
from springfit.learning.basis.sheet import USUAL_WALL_MM, blank_rim_arc, draw_end_arc
from springfit.mechanics.laying import Laid, LayingCase, LayingFailure, lay
from springfit.mechanics.laying.shop_words import laying_case
from springfit.mechanics.metal.alloys import alloy
from springfit.records.conditions import Conditions

__all__ = ["LaidState", "laid_states"]

Floats = NDArray[np.float64]

STATION_STEP = 1.0  # [mm] of arc between the stations of the steel that the sheet is laid on
# Steps of the finite differences, natural logarithms: stand-offs are assumed and may be half as much again, a hand
# leaves the rim half as much again as the draw end, sheets of one temper differ by a fifth (ASTM B36 tensile ranges).
STEP: Mapping[str, float] = {"stand_off": 0.4, "lean": 0.4, "strength": 0.2}


@dataclass(frozen=True)
class LaidState:
    """Locked-in stress of a bell on its steel at `arc` (m,) [mm] up to the blank's rim.

    `stress` by state ("base", then `LAID_CHANGES`, per unit of change) and by share: hoop -N_theta/t, meridional N_s/t,
    moment 4 M_s/t^2 and hoop_moment 4 M_theta/t^2, each (m,) [MPa].
    """

    arc: Floats
    stress: Mapping[str, Mapping[str, Floats]]

    def at(self, state: str, arc: Floats) -> dict[str, Floats]:
        """The stresses of one state at other arcs [mm], by share."""
        return {share: np.interp(arc, self.arc, values) for share, values in self.stress[state].items()}


def laid_states(
    bells: Sequence[tuple[Meridian, Conditions]], *, progress: Callable[[str], None] = lambda _: None
) -> tuple[LaidState | None, ...]:
    """The state of a bell of each mandrel and conditions; None where the laying model finds no equilibrium.

    Raises UnknownAlloyError for an alloy that is not in the table.
    """
    cases = [case for mandrel, conditions in bells for case in _cases(mandrel, conditions)]
    laid = _many(cases)
    each = 1 + len(LAID_CHANGES)
    return tuple(_state(cases[i : i + each], laid[i : i + each]) for i in range(0, len(cases), each))


def _try(case: LayingCase) -> Laid | None:
    try:
        return lay(case)
    except LayingFailure:
        return None


def _many(cases: Sequence[LayingCase]) -> list[Laid | None]:
    from joblib import Memory, Parallel, delayed

    run = Memory("/tmp/w/laycache", verbose=0).cache(_try)
    return list(Parallel(n_jobs=2)(delayed(run)(case) for case in cases))


def _cases(mandrel: Meridian, conditions: Conditions) -> list[LayingCase]:
    """The case as recorded, then each change of it."""
    blank, start = blank_rim_arc(mandrel, conditions), draw_end_arc(mandrel, conditions)
    steel = mandrel.at(np.linspace(0.0, blank, int(blank / STATION_STEP) + 2))
    base = laying_case(
        steel.s, steel.z, steel.r, steel.slope, wall=conditions.wall_mm or USUAL_WALL_MM, metal=alloy(conditions.alloy),
        temper=conditions.temper, anneal=conditions.anneal, draw_end=min(start, 0.95 * blank), hump=conditions.hump,
        passes=conditions.passes, nose_radius=conditions.tool_nose_mm,
    )  # fmt: skip
    across = np.clip((base.s - base.spin_start) / (base.s[-1] - base.spin_start), 0.0, 1.0)
    stronger, curve = float(np.exp(STEP["strength"])), base.curve
    return [
        base,
        replace(base, stand_off=base.stand_off * np.exp(STEP["stand_off"])),
        replace(base, stand_off=base.stand_off * np.exp(STEP["lean"] * (2.0 * across - 1.0))),
        replace(
            base,
            curve=replace(
                curve, strength_coefficient=curve.strength_coefficient * stronger,
                yield_strength=curve.yield_strength * stronger,
            ),
        ),
    ]  # fmt: skip


def _state(cases: Sequence[LayingCase], laid: Sequence[Laid | None]) -> LaidState | None:
    base = laid[0]
    if base is None:
        return None
    had = _stress(base, cases[0].wall)
    stress = {"base": had}
    for change, other in zip(LAID_CHANGES, laid[1:], strict=True):
        new = had if other is None else _stress(other.at(base.s), cases[0].wall)
        stress[change] = {share: (new[share] - had[share]) / STEP[change] for share in had}
    return LaidState(base.s, stress)


def _stress(laid: Laid, wall: float) -> dict[str, Floats]:
    return {
        "hoop": -laid.n_theta / wall,
        "meridional": laid.n_s / wall,
        "moment": 4.0 * laid.m_s / wall**2,
        "hoop_moment": 4.0 * laid.m_theta / wall**2,
    }
