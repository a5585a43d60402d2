"""How large all springback of a batch is against its forecast, and how surely a softer or harder sheet would show.

Springback goes with flow stress, so that other sheet multiplies all of it. The best linear estimate of the logarithm of
that multiplier, h what one unit of it does to every reading and V all that is not known of a sound batch, is

    size = h' V^-1 r / h' V^-1 h,   sd^2 = 1 / h' V^-1 h.

Two things keep sd from being small. Batches differ in size anyway (spinners, lots, anneals), and smooth springback
looks like an axial slide, so that a seat nobody knows hides it: with readings alone unknown, sd is `reading_sd`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

from springfit.learning.model import freedom_of
from springfit.watching.batches.predictive import Predictive

__all__ = ["OTHER_SHEET", "BatchSize", "batch_size"]

OTHER_SHEET = 0.30  # one temper off: a sheet so much softer or harder (`patterns.SCALE` as a share)
# False alarms of this one question, of one in twenty sound batches that a watch may alarm altogether. Each of six zones
# is charted by value, sum and mean, which alarm in one batch of 270 (run lengths of 370 to 500 and more), patterns and
# single bells in one of a hundred: one in thirty altogether, and this is what they leave.
ALARM = 0.02


@dataclass(frozen=True)
class BatchSize:
    """A batch's springback as a logarithm over its forecast: `size` with the `sd` that sound batches have, the part of
    it that its own readings leave (`reading_sd`), and the degrees of `freedom` of sd."""

    size: float
    sd: float
    reading_sd: float
    freedom: float

    @property
    def between_sd(self) -> float:
        """What is not the readings': how batches differ, and what of the shop is not known."""
        return float(np.sqrt(max(self.sd**2 - self.reading_sd**2, 0.0)))

    @property
    def stands_out(self) -> bool:
        """Whether a sound batch is off by as much only as often as `ALARM`."""
        return abs(self.size) > self._limit * self.sd

    @property
    def _limit(self) -> float:
        return float(student.ppf(1.0 - ALARM / 2.0, self.freedom))

    def seen(self, share: float = -OTHER_SHEET) -> float:
        """Chance that a batch whose springback is changed by `share` (-0.3: 30 % softer) stands out at `ALARM`."""
        limit, moved = self._limit, float(np.log1p(share)) / self.sd
        return float(student.sf(limit - moved, self.freedom) + student.cdf(-limit - moved, self.freedom))


def batch_size(predictive: Predictive) -> BatchSize | None:
    """The size of a batch; None where its forecast has no springback to be larger or smaller."""
    pattern = predictive.multiplier[:, None]
    if not np.any(pattern):
        return None
    weight, alone = predictive.solve(pattern)[:, 0], predictive.alone(pattern)[:, 0]
    information, of_readings = float(weight @ pattern[:, 0]), float(alone @ pattern[:, 0])
    return BatchSize(
        float(weight @ predictive.rest) / information, information**-0.5, of_readings**-0.5,
        freedom_of(predictive.known.batches),
    )  # fmt: skip
