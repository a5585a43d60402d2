"""Flow stress from temper, anneal and the strain put in since.

The law is sigma = K (e0 + e)^n up to the hardest row of the alloy's table, and constant above it. It starts
from the table's annealed yield, K e0^n, so it is right at small strain, where a pure power law (e0 = 0) falls
to half the yield; n and e0 are least squares in the logarithm of the table's rolled tempers against their
rolling strain. Against the rows it was fitted to: 0 to 7 % (rms), the worst C26000. Monotone loading only: a
reversed strain yields earlier.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import least_squares

from springfit.mechanics.metal.alloy_table import Alloy, TemperRow
from springfit.mechanics.metal.alloys import yield_strength
from springfit.mechanics.metal.tempers import grain_factor, grain_size, rolling_strain

__all__ = ["FlowLaw", "FlowStress", "flow_law", "flow_stress", "worked_strain"]

Array = NDArray[np.float64]

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
    return _annealed_law(metal, temper).worked(_kept_strain(metal, temper, anneal)[0])


def flow_stress(
    metal: Alloy, *, temper: str | None, anneal: str | None, strain: ArrayLike = 0.0
) -> FlowStress:
    """Flow stress after `strain` [-] on top of what temper and anneal left, with its range [MPa].

    Never below the annealed row's low (at the temper's grain, if it names one) nor above the hardest row's
    high. Raises ValueError for a word that is no anneal or temper, or a negative strain.
    """
    e = _not_negative(strain)
    kept = _kept_strain(metal, temper, anneal)
    value, low, high = (
        _annealed_law(metal, temper, which).stress(e + start)
        for which, start in zip(("value", "low", "high"), kept, strict=True)
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


def _kept_strain(metal: Alloy, temper: str | None, anneal: str | None) -> tuple[float, float, float]:
    """Rolling strain still in the sheet: value, least, most; an unknown temper may be any of the table's."""
    if anneal not in KEPT_WORK:
        raise ValueError(f"anneal: found {anneal!r}, expected full, partial, none or blank")
    value, least, most = KEPT_WORK[anneal]
    if temper is not None:
        rolled = rolling_strain(temper)
        return value * rolled, least * rolled, most * rolled
    hardest = max(rolling_strain(row.temper) for row in metal.rows(metal.definition))
    middle = float(_inverse(_annealed_law(metal, None), yield_strength(metal, None).value))
    return value * middle, 0.0, most * hardest


def _inverse(law: FlowLaw, stress: float) -> float:
    """Strain at which the law reaches a stress below its ceiling [-]."""
    if law.hardening_exponent == 0:
        return 0.0
    return float((stress / law.strength_coefficient) ** (1 / law.hardening_exponent) - law.prestrain)


@cache
def _annealed_law(metal: Alloy, temper: str | None, which: str = "value") -> FlowLaw:
    """Law from the annealed state through the table's values, lows or highs, at the temper's grain."""
    rows = metal.rows(metal.definition)
    soft = _yield_of(rows[0], which)
    rolled = {rolling_strain(r.temper): _yield_of(r, which) for r in rows if r.temper.startswith("H")}
    if not rolled:
        return FlowLaw(soft, 0.0, soft, soft)
    exponent, offset = _fitted(soft, np.array(list(rolled)), np.array(list(rolled.values())))
    law = FlowLaw(soft / offset**exponent, exponent, soft, max(rolled.values()))
    grain = grain_size(temper) if temper is not None else None
    return law if grain is None else replace(law, yield_strength=soft * grain_factor(grain))


def _yield_of(row: TemperRow, which: str) -> float:
    return {"value": row.yield_strength, "low": row.yield_low, "high": row.yield_high}[which]


def _fitted(soft: float, strain: Array, stress: Array) -> tuple[float, float]:
    """Exponent n and offset e0 of soft (1 + e/e0)^n through the rolled tempers, in the logarithm."""
    rise = np.log(stress / soft)

    def misfit(p: Array) -> Array:
        return np.asarray(p[0] * np.log1p(strain / np.exp(p[1])) - rise)

    exponent, log_offset = least_squares(misfit, [0.4, np.log(0.03)]).x
    return float(exponent), float(np.exp(log_offset))
