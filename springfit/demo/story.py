"""The demo shop's mandrels and targets, and what is planted in each: six bells, six things to decide.

WREN    the steel is a tenth too large over the flare, though it was recut once: recut
PLOVER  the steel is right, and was plated half-way through: leave
HERON   right in shape, but the whole flare lies a third of a millimetre too far out: slide
TEAL    two shallow turned dishes that wash out a little in the bell; otherwise right
CURLEW  the steel is a tenth too small, and may hardly be moved: steel cannot be put back
BITTERN large and wide, the steel right; its newest batch was passed back toward the tail: process
"""

from __future__ import annotations

from dataclasses import dataclass

from springfit.demo.keeping.pages import Target
from springfit.demo.keeping.runs import Workshop
from springfit.demo.many_shops import planted_shape
from springfit.demo.spinning.families import (
    BellLine,
    bessel_horn,
    exponential_flare,
    line_through,
    with_dishes,
)
from springfit.demo.spinning.recipe import Recipe
from springfit.demo.spinning.spun import BatchEffects, BellEffects
from springfit.demo.spinning.true_steel import Mandrel, Steel

__all__ = ["INCH", "PLANS", "MandrelPlan", "planned_mandrel", "planned_target"]

INCH = 25.4
BEYOND_MM = 9.0  # of radius, steel past the finished rim
PLATING_MM = 0.012  # nickel and chrome on polished steel, per side


@dataclass(frozen=True)
class MandrelPlan:
    """A mandrel to be: its ideal line, its habit, and per revision (from, finish, steel error [mm], plating
    [mm], note).
    """

    name: str
    ideal: BellLine
    habit: Recipe
    revisions: tuple[tuple[str, str, float, float, str | None], ...]
    tolerance_mm: float = 0.002 * INCH
    allowance_mm: float = 0.020 * INCH
    target_shift_mm: float = 0.0
    step_mm: float = INCH / 4
    expected: str = "leave"


def _habit(rim_in: float, draw_in: float, wall_in: float = 0.020, **more: object) -> Recipe:
    return Recipe(
        draw_end_mm=draw_in * INCH,
        wall_mm=wall_in * INCH,
        blank_rim_mm=(rim_in + 0.5) * INCH,
        finished_rim_mm=rim_in * INCH,
        tool_nose_mm=0.375 * INCH,
        **more,  # type: ignore[arg-type]
    )


def _bessel(rim_in: float, tail_mm: float, length: float, exponent: float) -> BellLine:
    return bessel_horn(
        tail=tail_mm, rim=rim_in * INCH / 2, length=length, exponent=exponent, beyond=BEYOND_MM
    )


# The shop of the story: every size is invented, as large as such bells are.
TEAL_PLAIN = _bessel(5.0, 6.4, 372.0, 0.68)
TEAL_DISHES = ((316.0, 38.0, 0.08), (352.0, 30.0, 0.06))  # centre arc, width, depth [mm]

# By mandrel: its line, its habit, and of each revision the day, finish, what it is too large and its plating [mm]
PLANS = (
    MandrelPlan(
        "WREN",
        _bessel(4.75, 5.85, 342.0, 0.60),
        _habit(4.75, 10.0),
        (
            ("2021-11-15", "bare", 0.17, 0.0, "turned from the drawing"),
            ("2023-03-06", "bare", 0.10, 0.0, "recut over the flare and polished"),
        ),
        expected="recut",
    ),
    MandrelPlan(
        "PLOVER",
        _bessel(4.875, 6.1, 366.0, 0.70),
        _habit(4.875, 11.0),
        (
            ("2021-11-15", "bare", 0.0, 0.0, None),
            ("2023-08-21", "plated_matte", 0.0, PLATING_MM, "plated, matte"),
        ),
        expected="leave",
    ),
    MandrelPlan(
        "HERON",
        _bessel(8.0, 9.6, 488.0, 0.78),
        _habit(8.0, 15.5, wall_in=0.022),
        (("2021-11-15", "bare", 0.0, 0.0, None),),
        target_shift_mm=-0.35,
        step_mm=INCH / 2,
        expected="slide",
    ),
    MandrelPlan(
        "TEAL",
        with_dishes(TEAL_PLAIN, TEAL_DISHES),
        _habit(5.0, 10.5),
        (("2022-02-14", "bare", 0.0, 0.0, "two dishes turned in"),),
        step_mm=INCH / 8,
        expected="leave",
    ),
    MandrelPlan(
        "CURLEW",
        exponential_flare(
            tail=5.6, rim=4.5 * INCH / 2, length=298.0, taper=0.030, reach=24.0, beyond=BEYOND_MM
        ),
        _habit(4.5, 9.0),
        (("2021-11-15", "plated_bright", -0.10, 0.0, None),),
        allowance_mm=0.0,
        expected="new_flare",
    ),
    MandrelPlan(
        "BITTERN",
        _bessel(12.0, 8.2, 500.0, 0.86),
        _habit(12.0, 15.0),
        (("2022-01-10", "bare", 0.0, 0.0, None),),
        tolerance_mm=0.004 * INCH,
        expected="process",
    ),
)


def planned_mandrel(plan: MandrelPlan) -> Mandrel:
    """The mandrel as it truly is, every revision: the ideal line, its planted error, its plating."""
    steels = []
    for number, (day, finish, error, plating, note) in enumerate(plan.revisions):
        steels.append(
            Steel(
                number,
                day,
                plan.ideal.moved_along_normal(error * planted_shape(plan.ideal) + plating),
                finish,
                note,
            )
        )
    return Mandrel(plan.name, tuple(steels), plan.habit, plan.step_mm)


def planned_target(plan: MandrelPlan, workshop: Workshop) -> Target:
    """The bell the ideal steel would give under the habit, moved along the axis by the planned shift."""
    line = plan.ideal
    if plan.name == "TEAL":  # its dishes are wanted as drawn, not as they wash out
        line = TEAL_PLAIN
    bell = workshop.press.press(line, plan.habit, BatchEffects()).bell(BatchEffects(), BellEffects())
    wanted = line_through(bell.z[::8] + plan.target_shift_mm, bell.r[::8])
    if plan.name == "TEAL":
        wanted = with_dishes(wanted, TEAL_DISHES)
    return Target(f"{plan.name}-bell", plan.name, wanted, plan.tolerance_mm, plan.allowance_mm, None)
