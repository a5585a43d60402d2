"""An original set on a mandrel: whether that mandrel would make it, from the leaves that pass between them.

A bell that the mandrel made would stand off it as the shop's own bells do: in contact at the tail, the clearance
growing to the rim. Where the readings are less than that forecast the steel is too big, where more, too small; snug
everywhere is too big. How far the bell was pushed on is not known: a seat pushed on by u takes u sin(slope) off every
reading, and is fitted with its prior beside how far the flare of the steel is too big.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.stats import norm

from springfit.geometry.points import FloatArray
from springfit.learning.data.kinds_to_gaps import FEELER_STEP_MM
from springfit.learning.regression.structures import STARTING_SPREADS
from springfit.normal_errors import BAND_90

__all__ = ["LEAF_MM", "Expected", "SetOn", "set_on"]

LEAF_MM = FEELER_STEP_MM
SEAT_PRIOR = STARTING_SPREADS["seat_tail"]  # [mm] 1 sd of a seat pushed on by hand
# [mm] 1 sd of how far a flare is too big or too small before it is looked at; as much as a recut; assumed
STEEL_PRIOR = 0.15
OWN_SHAPE = 0.015  # [mm] 1 sd of how one bell's shape differs from its family's at a place; as in `lining_up`
# [rad] in which a body widens, and a flare begins and is whole; assumed
FLARES = ((0.02, 0.07), (0.07, 0.2), (0.2, 0.4))
SURE = 0.5  # chance of an answer under which none is given: likelier than the other two together

Answer = Literal["right", "too big", "too small", "cannot tell"]


@dataclass(frozen=True)
class Expected:
    """What the shop's own bells would show at the stations: clearance and its 1 sd (n,) [mm], of one shape."""

    clearance: FloatArray
    error: FloatArray


@dataclass(frozen=True)
class SetOn:
    """The answer, its chance; how far the flare of the steel is too big [mm], the mean of its
    readings, with its 1 sd; the seat, pushed on by [mm].

    difference: (n,) readings less what was expected in that seat [mm], + where the bell stands off more; band: its
    90 % band either way.
    """

    answer: Answer
    chance: float
    too_big: float
    too_big_error: float
    seat: float
    difference: FloatArray
    band: FloatArray


def set_on(
    slope: FloatArray, leaf: FloatArray, repeatability: FloatArray, expected: Expected, *, tolerance: float
) -> SetOn:
    """Judges the thickest leaves that passed, leaf (n,) [mm], at places of slope (n,) [rad].

    tolerance [mm] normal, per side: within it the steel is right. A leaf of none bears on the steel or nearly so: the
    gap lies between nothing and one step.
    """
    noise = np.sqrt(repeatability**2 + LEAF_MM**2 / 12 + OWN_SHAPE**2)
    ramps = np.column_stack([np.clip((slope - low) / (high - low), 0.0, 1.0) for low, high in FLARES])
    # What the forecast does not know stretches or shrinks its whole clearance: one more unknown, of size one.
    rows = np.column_stack((-np.sin(slope), expected.error, -ramps))
    prior = np.concatenate(([SEAT_PRIOR, 1.0], np.full(len(FLARES), STEEL_PRIOR)))
    covariance = np.linalg.inv((rows / noise[:, None] ** 2).T @ rows + np.diag(1 / prior**2))
    read = leaf + LEAF_MM / 2
    sizes = covariance @ (rows.T @ ((read - expected.clearance) / noise**2))
    mean = (
        np.concatenate(([0.0, 0.0], ramps[slope >= FLARES[-1][1]].mean(axis=0)))
        if _flares(slope)
        else np.zeros(prior.size)
    )
    too_big, error = float(mean @ sizes), float(np.sqrt(mean @ covariance @ mean))
    answer, chance = _answer(too_big, error, tolerance) if error > 0 else ("cannot tell", 0.0)
    seat, apart = rows[:, :2], covariance[:2, :2]
    difference = read - expected.clearance - seat @ sizes[:2]
    band = BAND_90 * np.sqrt(noise**2 + np.sum((seat @ apart) * seat, axis=1))
    return SetOn(answer, chance, too_big, error, float(sizes[0]), difference, np.asarray(band))


def _flares(slope: FloatArray) -> bool:
    """Whether any reading was taken where a bell flares."""
    return bool(np.any(slope >= FLARES[-1][1]))


def _answer(too_big: float, error: float, tolerance: float) -> tuple[Answer, float]:
    """The likeliest of the three, where it is likely enough."""
    small = float(norm.cdf((-tolerance - too_big) / error))
    big = float(norm.sf((tolerance - too_big) / error))
    chances: dict[Answer, float] = {"too small": small, "right": 1 - small - big, "too big": big}
    likeliest = max(chances, key=lambda name: chances[name])
    return (
        (likeliest, chances[likeliest]) if chances[likeliest] >= SURE else ("cannot tell", chances[likeliest])
    )
