"""Bells asked of one model compared: what changes from one to the other, with the band of the difference.

Two forecasts share most of what is not known: the shop, the seat's doubt, the sheet, blanks that are blank in both. So
their difference is known better than either, and a band made of the two bands would hide what a change of process does.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from springfit.learning.forecasting.fitted_structure import Expected
from springfit.learning.forecasting.joint_forecast import GapDifference, joint_difference, rows_between
from springfit.learning.model import AskedBell, SpringModel

__all__ = ["compare_bells"]

Floats = NDArray[np.float64]

SAME_MM = 1e-6  # of arc: places that are one and the same; less is rounding


def compare_bells(model: SpringModel, first: AskedBell, second: AskedBell) -> GapDifference:
    """The gap of `second` less that of `first`, at the stations of `first` that both bells have.

    On one and the same mandrel places are matched by arc, as far as both bells reach; on another one, as a draft with
    its flare moved, at the same share of the arc from tail to rim, so that rim stands against rim.
    A bell held to the elastic envelope, or widened to it, has its difference held or widened alike, and no difference
    is told as less sure than both bells together. What passes toward the tail leave cancels where both bells are passed
    alike, and counts as two swellings that know nothing of one another where they are not.
    """
    here, there = first.words[0].arc, second.words[0].arc
    one_steel = first.mandrel is second.mandrel
    places = here if one_steel else there[0] + (here - here[0]) * np.ptp(there) / np.ptp(here)
    arc = here[places <= there[-1] + SAME_MM]
    rows = rows_between(there, np.minimum(places[: arc.size], there[-1]))
    known = all(one.words[0].facts.mandrel_id in model.layout.mandrels for one in (first, second))
    bands = model.known if known else model.new
    tried = max(len(first.words), len(second.words))
    told = [
        joint_difference(one, other, rows, bands)
        for one, other in zip(_each(first, tried), _each(second, tried), strict=True)
    ]
    variance = np.max([one[1] for one in told], axis=0) + np.var([one[0] for one in told], axis=0)
    gaps, held, told_sd, humps = zip(*(_alone(model, one) for one in (first, second)), strict=True)
    most = [held[0][: arc.size], rows @ held[1]]
    scale = np.maximum(_scale(held[0], told_sd[0])[: arc.size], rows @ _scale(held[1], told_sd[1]))
    sd = np.minimum(np.sqrt(variance) * scale, most[0] + most[1])
    if not _passed_alike(first, second):
        sd = np.sqrt(sd**2 + humps[0][: arc.size] ** 2 + (rows @ humps[1]) ** 2)
    return GapDifference(arc, rows @ gaps[1] - gaps[0][: arc.size], sd, model.freedom)


def _each(bell: AskedBell, tried: int) -> tuple[tuple[Expected, ...], ...]:
    """What is expected of a bell, once for each of so many places where drawing may have stopped."""
    return bell.expected * (tried // len(bell.expected))


def _alone(model: SpringModel, bell: AskedBell) -> tuple[Floats, Floats, Floats, Floats]:
    """Of one bell by itself: gap, and standard deviations held, as told, and of the swelling, (n,) [mm]."""
    together = model.together(bell.words)
    hump, hump_sd = model.swelling(bell.mandrel, bell.conditions, bell.words[0].arc)
    return together.gap + hump, together.held_sd, together.told_sd, hump_sd


def _scale(held: Floats, told: Floats) -> Floats:
    """By how much a standard deviation was held back or widened; 1 where there was none."""
    return np.where(told > 0.0, held / np.where(told > 0.0, told, 1.0), 1.0)


def _passed_alike(first: AskedBell, second: AskedBell) -> bool:
    """Whether the last passes toward the tail are the same, and begin at the same place."""
    one, other = first.conditions, second.conditions
    return one.back_passes == other.back_passes and (
        one.draw_end_mm == other.draw_end_mm and first.mandrel is second.mandrel
    )
