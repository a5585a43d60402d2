"""Shop words to the inputs of the laying model.

`temper`, `anneal` and alloy give the flow curve (see `hardening`). `wall` and `tool_nose` are taken as they are.
`draw_end` is where spinning starts; up to there the sheet was drawn tight and lies on the steel. `hump`, the free metal
left ahead of the tool, is how far the preform stands off. A sheet that no tool has touched stands off more and more
towards its rim, which is the usual case here; one whose rim was worked comes back toward the steel. `passes`: each
forward pass before the last works the sheet round the nose and hardens it; the last one lays it. Stand-offs are assumed
(no source): 1.5 mm at a 62.5 mm rim radius is a good hump, and sizes go with the square root of the rim, as the bending
length of a sheet does. What a shop's hands do otherwise is a `SheetForm`.

Left out: friction (lubricant, spindle speed), the hand that lays the edge, the Bauschinger effect, anneals between
passes, passes back toward the tail, what the draw ring leaves in the drawn part, spring of the mandrel, the bead.
"""

from __future__ import annotations

__all__ = ["HUMP_STAND_OFF_MM", "USUAL_NOSE_MM", "SheetForm", "flow_curve", "laying_case", "stand_off"]

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from springfit.mechanics.laying.case import LayingCase
from springfit.mechanics.laying.plasticity import FlowCurve
from springfit.mechanics.laying.preform import bubble
from springfit.mechanics.metal.alloys import Alloy
from springfit.mechanics.metal.hardening import flow_law, worked_strain

Array = NDArray[np.float64]

REFERENCE_RIM_MM = 62.5  # radius at which the stand-offs below hold; that of the finite-element bells
# Assumed, no source: each word stands off twice as far as the one before, or so.
HUMP_STAND_OFF_MM: Mapping[str, float] = {"none": 0.3, "low": 0.8, "good": 1.5, "high": 3.0}
USUAL_HUMP, USUAL_PASSES, USUAL_NOSE_MM = "good", 2, 10.0  # where blank; common practice, no source


@dataclass(frozen=True)
class SheetForm:
    """How a sheet departs from what the words of its record say: ln of how much `further` it stands off; where its hump
    begins past the end of the draw, `start`, a part of the spun length; where along the hump, sin^2 of 0 to pi, its rim
    lies, `rim_place` above 0 (0.5 at its top, nearly 1 on its foot, where the rim grips the steel); ln of `skew`, +
    with the fullest place toward the rim; ln of how much `stronger` its whole flow curve is."""

    further: float = 0.0
    start: float = 0.0
    rim_place: float = 0.5
    skew: float = 0.0
    stronger: float = 0.0


AS_ASSUMED = SheetForm()


def flow_curve(
    metal: Alloy, *, temper: str | None, anneal: str | None, passes: int | None, wall: float, nose_radius: float
) -> FlowCurve:
    """Flow curve of the sheet as the last pass meets it; lengths [mm], words as in the record book, None = blank.

    Raises ValueError for a temper or anneal that is no such word, or passes below 1.
    """
    count = USUAL_PASSES if passes is None else passes
    if count < 1:
        raise ValueError(f"passes: found {count}, expected 1 or more forward passes")
    law = flow_law(metal, temper=temper, anneal=anneal)
    law = law.worked(float(worked_strain(wall=wall, nose_radius=nose_radius, passes=count - 1)))
    return FlowCurve(
        youngs_modulus=metal.youngs_modulus,
        poisson_ratio=metal.poisson_ratio,
        strength_coefficient=max(law.strength_coefficient, law.yield_strength),
        hardening_exponent=law.hardening_exponent,
        yield_strength=law.yield_strength,
    )


def stand_off(s: Array, *, rim_radius: float, draw_end: float, hump: str | None, form: SheetForm = AS_ASSUMED) -> Array:
    """Stand-off [mm] of the preform at arcs `s` (n,) [mm], s[-1] being the blank's rim; `draw_end` [mm] an arc."""
    word = USUAL_HUMP if hump is None else hump
    if word not in HUMP_STAND_OFF_MM:
        raise ValueError(f"hump: found {hump!r}, expected one of {', '.join(HUMP_STAND_OFF_MM)}, or blank")
    height = HUMP_STAND_OFF_MM[word] * np.sqrt(rim_radius / REFERENCE_RIM_MM) * np.exp(form.further)
    start = draw_end + form.start * (float(s[-1]) - draw_end)
    end = start + (float(s[-1]) - start) / form.rim_place
    return bubble(s, height=float(height), start=start, end=end, skew=float(np.exp(form.skew)))


def laying_case(
    s: Array,
    z: Array,
    r: Array,
    slope: Array,
    *,
    wall: float,
    metal: Alloy,
    temper: str | None = None,
    anneal: str | None = None,
    draw_end: float = 0.0,
    hump: str | None = None,
    passes: int | None = None,
    nose_radius: float | None = None,
    drawn_pull: float = 0.0,
    form: SheetForm = AS_ASSUMED,
) -> LayingCase:
    """The laying case of a mandrel (arrays (n,) from tail to blank rim) and what the shop wrote down of the batch.

    `draw_end` [mm] is an arc, 0 = not drawn; `drawn_pull` as in LayingCase. Blank words take the usual
    practice named in this module.
    """
    nose = USUAL_NOSE_MM if nose_radius is None else nose_radius
    curve = flow_curve(metal, temper=temper, anneal=anneal, passes=passes, wall=wall, nose_radius=nose)
    off = stand_off(s, rim_radius=float(r[-1]), draw_end=draw_end, hump=hump, form=form)
    start = max(draw_end, float(s[0]))
    return LayingCase(s, z, r, slope, off, wall, _stronger(curve, form), nose, start, drawn_pull=drawn_pull)


def _stronger(curve: FlowCurve, form: SheetForm) -> FlowCurve:
    times = float(np.exp(form.stronger))
    return replace(
        curve, strength_coefficient=curve.strength_coefficient * times, yield_strength=curve.yield_strength * times
    )
