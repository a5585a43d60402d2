"""Flow stress from temper, anneal and the strain put in since.

Yields of the alloy's table, annealed and rolled, are joined by powers: between two rows ln(sigma) is linear in
ln(e0 + e), e the rolling strain; beyond the last row it is constant. So the flow stress goes through every row, its
low and high through theirs, and nothing is fitted. Monotone loading only: a reversed strain yields earlier.

`flow_law` is the one power K (e0 + e)^n that such a curve is, near enough, for a sheet that is worked from where it
now stands: it starts from its yield and meets the curve at the two strains of `MET_AT`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from springfit.mechanics.metal.alloy_table import Alloy, TemperRow
from springfit.mechanics.metal.alloys import yield_strength
from springfit.mechanics.metal.tempers import grain_factor, grain_size, rolling_strain

__all__ = ["FlowLaw", "FlowStress", "flow_law", "flow_stress", "worked_strain"]

Array = NDArray[np.float64]

# e0: where the rows of an alloy are close together it hardly matters; between the annealed and the hard row of C23000,
# which has no others, it is all there is. From annealed and H04 rows alone 0.02 gives C77000's H01 and H02 rows within
# 1 %, C22000's H01 within 4 % and H02 within 10 %, C26000's H01 within 30 %: brasses low in zinc, as C23000 is, go
# with the first two.
PRESTRAIN = 0.02
# Strains past the start at which a `FlowLaw` meets the curve: with these two every law of every alloy, temper, anneal
# keeps within the low and high of all harder rows and its exponent stays below 1; with 0.1 and 0.3 H04 rows are passed
# by 5 %. Passes and laying add up to about 0.3 (finite-element bells: 0.04 to 0.12 in the mean of the wall).
MET_AT = (0.15, 0.5)
PRESTRAIN_RANGE = (1e-3, 10.0)  # of a `FlowLaw`: from a start that hardens at once to one that is a straight line

# Share of the sheet's rolling strain left after each anneal: value, least, most. A full anneal (30 min, 600
# C) recrystallises whatever the prior work (Korean J. Met. Mater. on 70/30: the same grain after 33 and 55 %
# rolling); a partial one is anything between, so its range is the whole.
KEPT_WORK = {
    "full": (0.0, 0.0, 0.0),
    "none": (1.0, 1.0, 1.0),
    "partial": (0.5, 0.0, 1.0),
    None: (0.5, 0.0, 1.0),
}


class FlowStress(NamedTuple):
    """Flow stress [MPa] with its low and high: the sources' spread and what is not known of the anneal."""

    value: Array
    low: Array
    high: Array


@dataclass(frozen=True)
class FlowLaw:
    """sigma = min(K (e0 + e)^n, ceiling) with K e0^n = `yield_strength`; K `strength_coefficient` [MPa]."""

    strength_coefficient: float
    hardening_exponent: float
    yield_strength: float
    ceiling: float

    @property
    def prestrain(self) -> float:
        """The offset strain e0 [-]; 0 when the metal does not harden."""
        if self.hardening_exponent == 0:
            return 0.0
        return float((self.yield_strength / self.strength_coefficient) ** (1 / self.hardening_exponent))

    def stress(self, strain: ArrayLike) -> Array:
        """Flow stress [MPa] after a further equivalent strain [-] (not negative)."""
        total = self.prestrain + _not_negative(strain)
        limited: Array = np.minimum(self.strength_coefficient * total**self.hardening_exponent, self.ceiling)
        return limited

    def worked(self, strain: float) -> FlowLaw:
        """The law of the same metal after a strain: it starts from the flow stress reached."""
        return replace(self, yield_strength=float(self.stress(strain)))


def flow_law(metal: Alloy, *, temper: str | None = None, anneal: str | None = None) -> FlowLaw:
    """Law of the sheet as it comes to the mandrel; temper and anneal as in the book, None when blank."""
    curve, start = _curve(metal, "value"), _start(metal, temper, anneal)[0]
    begin, first, second = (float(v) for v in curve.stress(start + np.array([0.0, *MET_AT])))
    if first <= begin:
        return FlowLaw(begin, 0.0, begin, begin)
    prestrain = _prestrain_of(np.log(second / begin) / np.log(first / begin))
    exponent = float(np.log(first / begin) / np.log1p(MET_AT[0] / prestrain))
    return FlowLaw(begin / prestrain**exponent, exponent, begin, max(curve.stresses))


def flow_stress(
    metal: Alloy, *, temper: str | None, anneal: str | None, strain: ArrayLike = 0.0
) -> FlowStress:
    """Flow stress after `strain` [-] on top of what temper and anneal left, with its range [MPa].

    Never below the annealed row's low (at the temper's grain, if it names one) nor above the hardest row's
    high. Raises ValueError for a word that is no anneal or temper, or a negative strain.
    """
    e = _not_negative(strain)
    value, low, high = (
        _curve(metal, which).stress(e + start)
        for which, start in zip(("value", "low", "high"), _start(metal, temper, anneal), strict=True)
    )
    return FlowStress(value, low, high)


def worked_strain(*, wall: ArrayLike, nose_radius: ArrayLike, passes: int) -> Array:
    """Mean equivalent strain of being bent round the tool nose and flat again, `passes` times [-].

    A fibre at distance y from the middle is strained y/rho twice a pass; its mean over the wall is t/(4 rho)
    each way, and plane strain counts 2/sqrt 3: (2/sqrt 3) passes t/(2 rho). The stretch of the flare itself
    comes on top.
    """
    ratio: Array = np.asarray(wall, dtype=float) / np.asarray(nose_radius, dtype=float)
    return 2 / np.sqrt(3) * passes * ratio / 2


def _not_negative(strain: ArrayLike) -> Array:
    e = np.asarray(strain, dtype=float)
    if not (e >= 0).all():
        raise ValueError(f"strain: found {np.min(e)}, expected 0 or more")
    return e


@dataclass(frozen=True)
class _Curve:
    """Stresses [MPa] at rolling strains, joined by powers of e0 + e, constant past the last."""

    strains: tuple[float, ...]
    stresses: tuple[float, ...]

    def stress(self, strain: ArrayLike) -> Array:
        """Flow stress at a rolling strain, which is negative (> -e0) for a sheet of coarse grain."""
        at, known = np.log(PRESTRAIN + np.asarray(strain, dtype=float)), np.log(PRESTRAIN + np.array(self.strains))
        below = self._first_power() * np.minimum(at - known[0], 0)
        stress: Array = np.exp(np.interp(at, known, np.log(self.stresses)) + below)
        return stress

    def strain(self, stress: float) -> float:
        """Rolling strain at which a stress is reached; the last row's beyond it."""
        if stress < self.stresses[0]:
            return float(PRESTRAIN * (stress / self.stresses[0]) ** (1 / self._first_power()) - PRESTRAIN)
        known = np.log(PRESTRAIN + np.array(self.strains))
        return float(np.exp(np.interp(np.log(stress), np.log(self.stresses), known)) - PRESTRAIN)

    def _first_power(self) -> float:
        """Exponent of the first piece, which goes on below the annealed row."""
        rise, run = np.log(self.stresses[1] / self.stresses[0]), np.log1p(self.strains[1] / PRESTRAIN)
        return float(rise / run)


@cache
def _curve(metal: Alloy, which: str) -> _Curve:
    """Through the table's values, lows or highs, the annealed row first; a harder row is never softer."""
    rows = metal.rows(metal.definition)
    kept = [rows[0], *(row for row in rows if row.temper.startswith("H"))]
    stresses = np.maximum.accumulate([_yield_of(row, which) for row in kept])
    return _Curve((0.0, *(rolling_strain(row.temper) for row in kept[1:])), tuple(map(float, stresses)))


def _start(metal: Alloy, temper: str | None, anneal: str | None) -> tuple[float, float, float]:
    """Strain on the curves of value, low and high at which the sheet comes to the mandrel.

    That of its grain, if the temper names one, and the rolling strain that the anneal left; an unknown temper may be
    any of the table's.
    """
    if anneal not in KEPT_WORK:
        raise ValueError(f"anneal: found {anneal!r}, expected full, partial, none or blank")
    value, least, most = KEPT_WORK[anneal]
    if temper is not None:
        rolled = rolling_strain(temper)
        of_value, of_low, of_high = (_grain_strain(_curve(metal, which), temper) for which in ("value", "low", "high"))
        return of_value + value * rolled, of_low + least * rolled, of_high + most * rolled
    hardest = max(rolling_strain(row.temper) for row in metal.rows(metal.definition))
    middle = _curve(metal, "value").strain(yield_strength(metal, None).value)
    return value * middle, 0.0, most * hardest


def _grain_strain(curve: _Curve, temper: str) -> float:
    """Strain that takes the annealed row's yield to that of the temper's grain; 0 where it names none."""
    grain = grain_size(temper)
    return 0.0 if grain is None else curve.strain(curve.stresses[0] * grain_factor(grain))


def _yield_of(row: TemperRow, which: str) -> float:
    return {"value": row.yield_strength, "low": row.yield_low, "high": row.yield_high}[which]


def _prestrain_of(ratio: float) -> float:
    """e0 for which ln(1 + e/e0) at the second of `MET_AT` is `ratio` times that at the first.

    The ratio rises with e0 all the way from 1 to e_2/e_1, so there is one; out of range the nearest end is taken.
    """

    def excess(log_prestrain: float) -> float:
        at = np.log1p(np.array(MET_AT) / np.exp(log_prestrain))
        return float(at[1] / at[0]) - ratio

    low, high = np.log(PRESTRAIN_RANGE)
    if excess(low) >= 0:
        return PRESTRAIN_RANGE[0]
    return PRESTRAIN_RANGE[1] if excess(high) <= 0 else float(np.exp(brentq(excess, low, high)))
