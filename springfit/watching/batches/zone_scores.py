"""How far a batch lies from its forecast, zone by zone: the shift of its mean, and the spread among its bells.

With everything else unknown left in V, the best linear estimate of a shift of one zone is

    shift = h' V^-1 r / h' V^-1 h,   sd^2 = 1 / h' V^-1 h,   h = 1 on the readings of the zone,

and its standardised value, by Student's t of the batches known before, is a normal score: within what batches usually
differ by, it is standard normal whatever the seat, the wall and the hands. Spread: squares of the bells' own shifts
about their mean over what hands and gauges usually make of them, an F with bells - 1 degrees of freedom.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import f as fisher
from scipy.stats import norm
from scipy.stats import t as student

from springfit.learning.model import freedom_of
from springfit.watching.batches.bell_zones import ZONES
from springfit.watching.batches.predictive import Predictive

__all__ = ["ZoneScore", "normal_score", "zone_scores"]

Floats = NDArray[np.float64]

LEAST_ROWS = 2  # readings of a zone on a bell: one could be a slip
# Of Fisher's F: the usual spread of bells is one for all zones and mandrels; at one of them it may be off by a fifth,
# and 1 / (2 0.2^2) is twelve.
USUAL_FREEDOM = 12.0
FURTHEST = 8.0  # normal scores are cut there: beyond it a probability says nothing


@dataclass(frozen=True)
class ZoneScore:
    """One zone of one batch, lengths in mm per side. `forecast` mean gap over the readings, `measured` the same as the
    bells show it, `shift` between them with its `shift_sd`, and that as a normal `score`. `spread` sd of the bells
    about their mean, `usual_spread` what hands and gauges make, `spread_score` normal (nan with one bell); `envelope`
    elastic."""

    batch_id: str
    zone: str
    bells: int
    readings: int
    forecast: float
    measured: float
    shift: float
    shift_sd: float
    score: float
    spread: float
    usual_spread: float
    spread_score: float
    envelope: float


def zone_scores(predictive: Predictive, zones: NDArray[np.intp]) -> tuple[ZoneScore, ...]:
    """The zones of a batch that were read; `zones` (rows,) of its readings."""
    placed = predictive.rows("springs") > 0
    freedom = freedom_of(predictive.known.batches)
    expected = np.concatenate([one.expected for one in predictive.bells])
    envelope = predictive.rows("envelope")
    scores = []
    for number, zone in enumerate(ZONES):
        inside = placed & (zones == number)
        if inside.sum() < LEAST_ROWS:
            continue
        pattern = inside.astype(float)[:, None]
        weight = predictive.solve(pattern)[:, 0]
        information = float(weight @ pattern[:, 0])
        shift, sd = float(weight @ predictive.rest) / information, information**-0.5
        score = normal_score(float(student.logcdf(-abs(shift) / sd, freedom)), shift)
        forecast = float(expected[inside].mean())
        bells, spread, usual, spread_score = _spread(predictive, inside)
        scores.append(
            ZoneScore(
                predictive.batch_id, zone, bells, int(inside.sum()), forecast, forecast + shift, shift, sd, score,
                spread, usual, spread_score, float(envelope[inside].max()),
            )
        )  # fmt: skip
    return tuple(scores)


def normal_score(log_tail: float, sign: float) -> float:
    """The normal deviate that has the tail of which `log_tail` is the logarithm, on the side of `sign`."""
    deviate = min(float(-norm.ppf(np.exp(log_tail))) if log_tail > -700 else FURTHEST, FURTHEST)
    return float(np.copysign(deviate, sign))


def _spread(predictive: Predictive, inside: NDArray[np.bool_]) -> tuple[int, float, float, float]:
    """Bells read in a zone, their sd about their mean, what it would usually be [mm], and that as a normal score."""
    shifts, variances = [], []
    for index, one in enumerate(predictive.bells):
        pattern = inside[predictive.part(index)].astype(float)
        if pattern.sum() < LEAST_ROWS:
            continue
        weight = one.solve(pattern[:, None])[:, 0]
        variances.append(1.0 / float(weight @ pattern))
        shifts.append(float(weight @ one.rest) * variances[-1])
    bells = len(shifts)
    if bells < 2:
        return max(bells, 1), float("nan"), float("nan"), float("nan")
    shift, variance = np.array(shifts), np.array(variances)
    mean = float(np.sum(shift / variance) / np.sum(1.0 / variance))
    square = float(np.sum((shift - mean) ** 2 / variance))
    usual = float(np.sqrt(bells / np.sum(1.0 / variance)))
    ratio = square / (bells - 1)
    upper = float(fisher.logsf(ratio, bells - 1, USUAL_FREEDOM))
    lower = float(fisher.logcdf(ratio, bells - 1, USUAL_FREEDOM))
    score = normal_score(min(upper, lower), 1.0 if upper < lower else -1.0)
    return bells, usual * float(np.sqrt(square / (bells - 1))), usual, score
