"""The hand whose sheets, laid and let go, leave what the bells show: a search by Gauss-Newton steps.

Of theta, nine numbers of a `Hand` and the logarithm of one weight for all that is laid, the posterior of robust errors

    sum over batches of (f + n)/2 log(1 + |e_b|^2 / f)  +  1/2 sum (theta / sd)^2,     e_b = W (g - w laid)

is made small, e_b the whitened misfit of a batch at n stations and f the degrees of freedom of Student's t: one batch
that was spun otherwise must not bend the hand of all. Slopes are finite differences of what is laid, five a batch:
whatever the shop's numbers do, they do through the five of a sheet. The weight is not kept, for what is learned
afterwards finds its own; without it a shop that springs less than laying says would look as if of weaker sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from springfit.learning.basis.hand import FORM_NUMBERS, RIM_AT_TOP, Hand, form_of, form_rows
from springfit.learning.basis.laid_state import kept_in, sheet_on_steel
from springfit.learning.calibration.shown_curves import ShownCurve
from springfit.mechanics.laying import lay_many
from springfit.mechanics.laying.grading import Fineness

__all__ = ["found_hand"]

Floats = NDArray[np.float64]

# A quarter of the cost of a column, within 3 to 5 % rms of its gap: less than batches differ by.
COARSE = Fineness(layers=5, element_walls=8.0, advance_walls=3.0)
# 1 sd about nought beforehand, in the order of a hand's fields, the weight's logarithm last; but for the strength all
# are assumed, no source. A hump is half as much again or less; the words differ by a third more or less than assumed; a
# start moves by a tenth of the spun length; a rim lies anywhere from the top of its hump to its foot; a third of skew.
# Strength: 15 % as tempers range (ASTM B36), what temper and anneal do to it by a third of itself, passes by half as
# much. The weight: as laid, give or take a third. The search was developed on the shops `open-101` and `laid-1`; that a
# weight is sought with it came of what `sample-shop-laid` scored without.
SD = np.array([0.5, 0.35, 0.1, 0.8, 0.3, 0.15, 0.3, 0.3, 0.15, 0.3])
LONGEST = 2.0 * SD  # of one step: beyond, what is laid is no longer nearly straight in its numbers
# Where the search may begin, (further, rim, skew): a sheet that no tool has touched, fuller toward its rim or not, one
# that comes half-way back, and one whose rim lies on the steel.
BEGINNINGS = (
    (0.0, RIM_AT_TOP, 0.0), (-0.3, RIM_AT_TOP, 0.35), (-0.3, 0.6, 0.0), (-0.5, 1.6, -0.35),
)  # fmt: skip
# As large as half of what each may be off (`SD`), strength and start a little more: slopes between hands, not at one.
STEPS = np.array([0.25, 0.06, 0.4, 0.15, 0.15])  # of the finite differences, in the order of a sheet's numbers
DAMPINGS = (0.02, 0.5)  # of a step, the second where the first leads nowhere better (Marquardt 1963); values assumed
FREEDOM = 4.0  # of Student's t: tails for an odd batch; common practice, no source
# Steps at most, and the gain below which no more is taken; of a log posterior, half a nat decides nothing
ROUNDS, ENOUGH = 3, 0.5


@dataclass(frozen=True, eq=False)
class _Laid:
    """Numbers tried, `theta` (10,), and the whitened `errors` that they leave, (n,) of each batch."""

    theta: Floats
    errors: tuple[Floats, ...]

    @property
    def counts(self) -> Floats:
        """Stations of each batch, (batches,)."""
        return np.array([float(len(error)) for error in self.errors])

    @cached_property
    def squares(self) -> Floats:
        """Sum of squared errors of each batch, (batches,)."""
        return np.array([float(error @ error) for error in self.errors])

    @property
    def cost(self) -> float:
        """The negative log posterior."""
        robust = float(np.sum((FREEDOM + self.counts) / 2.0 * np.log1p(self.squares / FREEDOM)))
        return robust + 0.5 * float(np.sum((self.theta / SD) ** 2))

    @property
    def trusted(self) -> Floats:
        """By how much each batch counts at these errors, (batches,)."""
        return np.asarray((FREEDOM + self.counts) / (FREEDOM + self.squares))


def found_hand(curves: Sequence[ShownCurve], *, progress: Callable[[str], None] = lambda _: None) -> Hand:
    """The hand that explains `curves` best, from the best of several beginnings; as assumed where there are none."""
    if not curves:
        return Hand()
    search = _Search(tuple(curves))
    at = min(search.tried([_beginning(*one) for one in BEGINNINGS]), key=lambda one: one.cost)
    for round_ in range(ROUNDS):
        progress(f"how sheet is laid here: step {round_ + 1} of at most {ROUNDS}")
        tried = (search.tried([theta])[0] for theta in search.steps(at))
        better = next((one for one in tried if one.cost < at.cost), None)
        if better is None:
            break
        gain, at = at.cost - better.cost, better
        if gain < ENOUGH:
            break
    return Hand.of(at.theta[:-1])


def _beginning(further: float, rim: float, skew: float) -> Floats:
    return np.append(Hand(further=further, rim=rim, skew=skew).numbers, 0.0)


@dataclass(frozen=True, eq=False)
class _Search:
    """Sheets of `curves` laid."""

    curves: tuple[ShownCurve, ...]

    @cached_property
    def rows(self) -> list[Floats]:
        """What the shop's numbers are of each batch's sheet."""
        return [form_rows(curve.conditions) for curve in self.curves]

    def tried(self, thetas: Sequence[Floats]) -> list[_Laid]:
        """The errors that each of `thetas` leaves."""
        gaps = self._gaps([[rows @ theta[:-1] for theta in thetas] for rows in self.rows])
        return [
            _Laid(theta, tuple(_error(curve, one[number], theta) for curve, one in zip(self.curves, gaps, strict=True)))
            for number, theta in enumerate(thetas)
        ]

    def steps(self, at: _Laid) -> list[Floats]:
        """Numbers that Gauss and Newton would go to, more and less damped."""
        moved = np.vstack((np.zeros(FORM_NUMBERS), np.diag(STEPS)))
        gaps = self._gaps([list(rows @ at.theta[:-1] + moved) for rows in self.rows])
        matrix, pull = np.diag(1.0 / SD**2), -at.theta / SD**2
        for curve, rows, gap, error, trusted in zip(self.curves, self.rows, gaps, at.errors, at.trusted, strict=True):
            weight = float(np.exp(at.theta[-1]))
            by_sheet = np.column_stack([(other - gap[0]) / step for other, step in zip(gap[1:], STEPS, strict=True)])
            slopes = -weight * curve.whitening @ np.column_stack((by_sheet @ rows, gap[0]))
            matrix += trusted * slopes.T @ slopes
            pull -= trusted * slopes.T @ error
        damped = [np.linalg.solve(matrix + damping * np.diag(np.diag(matrix)), pull) for damping in DAMPINGS]
        return [at.theta + np.clip(step, -LONGEST, LONGEST) for step in damped]

    def _gaps(self, numbers: Sequence[Sequence[Floats]]) -> list[list[Floats]]:
        """Gap (n,) [mm] at each curve's stations of its sheet by each of its `numbers`; nought where none was found,
        and for slopes the first one's."""
        asked = [(curve, sheet) for curve, some in zip(self.curves, numbers, strict=True) for sheet in some]
        laid = lay_many(
            [sheet_on_steel(curve.mandrel, curve.conditions, form_of(sheet)) for curve, sheet in asked],
            jobs=-1, folder=kept_in(), trim_at=[curve.trim_at for curve, _ in asked], fineness=COARSE,
        )  # fmt: skip
        told, gaps = iter(laid), []
        for curve, some in zip(self.curves, numbers, strict=True):
            mine: list[Floats] = []
            for _ in some:
                one = next(told)
                lost = mine[0] if mine else np.zeros_like(curve.gap)
                mine.append(lost if one is None else np.interp(curve.arc, one.s, one.gap))
            gaps.append(mine)
        return gaps


def _error(curve: ShownCurve, gap: Floats, theta: Floats) -> Floats:
    return np.asarray(curve.whitening @ (curve.gap - float(np.exp(theta[-1])) * gap))
