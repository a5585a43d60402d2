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

from springfit.learning.basis.hand import FORM_NUMBERS, HAND_SD, RIM_AT_TOP, Hand, form_of, form_rows
from springfit.learning.basis.laid_state import kept_in, sheet_on_steel
from springfit.learning.calibration.shown_curves import ShownCurve
from springfit.mechanics.laying import lay_many
from springfit.mechanics.laying.grading import Fineness

__all__ = ["found_hand"]

Floats = NDArray[np.float64]

# Half the cost of a column, within 3 % rms of the largest gap of the fine working on half of 24 bells drawn over the
# trade, 9 % on nine in ten: less than batches differ by.
COARSE = Fineness(layers=7, element_walls=10.0, advance_walls=2.5)
# 1 sd about nought beforehand of a hand's numbers, and last of the weight's logarithm: as laid, give or take a third
# (assumed). The search was developed on the shops `open-101` and `laid-1`; that a weight is sought with it came of what
# `sample-shop-laid` scored without.
SD = np.append(HAND_SD, 0.3)
LONGEST = 2.0 * SD  # of one step: beyond, what is laid is no longer nearly straight in its numbers
# Where the search begins, (further, rim, skew): a sheet that no tool has touched, one that comes half-way back, and one
# whose rim lies on the steel.
BEGINNINGS = ((0.0, RIM_AT_TOP, 0.0), (-0.3, 0.6, 0.0), (-0.5, 1.6, -0.35))
# As large as half of what each may be off (`SD`), strength and start a little more: slopes between hands, not at one.
STEPS = np.array([0.25, 0.06, 0.4, 0.15, 0.15])  # of the finite differences, in the order of a sheet's numbers
DAMPINGS = (0.02, 0.3, 3.0)  # of a step, the best of which is taken (Marquardt 1963); values assumed
FREEDOM = 4.0  # of Student's t: tails for an odd batch; common practice, no source
# Steps at most, from each beginning with every other batch and then from the best of them with all, and the gain below
# which no more is taken; of a log posterior, half a nat decides nothing. From where a search begins it cannot be seen
# where it leads: at the development shops `standoff-7` and `laid-3` the worst of them came to the best hand, by 12 nats
# and by 27.
FIRST_ROUNDS, ROUNDS, ENOUGH = 2, 3, 0.5


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
    """The hand that explains `curves` best, led on from several beginnings; as assumed where there are none."""
    if not curves:
        return Hand()
    few, search = _Search(tuple(curves[::2])), _Search(tuple(curves))
    led_on = []
    for number, at in enumerate(few.tried([_beginning(*one) for one in BEGINNINGS])):
        progress(f"how sheet is laid here: beginning {number + 1} of {len(BEGINNINGS)}")
        led_on.append(few.led_on(at, FIRST_ROUNDS).theta)
    progress("how sheet is laid here: on from the best of them")
    best = min(search.tried(led_on), key=lambda one: one.cost)
    return Hand.of(search.led_on(best, ROUNDS).theta[:-1])


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

    def led_on(self, at: _Laid, rounds: int) -> _Laid:
        """The best that at most `rounds` steps lead to from `at`."""
        for _ in range(rounds):
            better = min((at, *self.tried(self.steps(at))), key=lambda one: one.cost)
            gain, at = at.cost - better.cost, better
            if gain < ENOUGH:
                break
        return at

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
