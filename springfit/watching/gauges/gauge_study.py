"""A gauge study: the same parts read by several people, several times each; whose spread is it?

The crossed analysis of variance of parts x people x trials. An interaction that is no larger than chance at one in four
(the usual rule) is pooled into the repeatability. Automotive Industry Action Group, Measurement Systems Analysis.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import f as fisher

__all__ = ["GaugeStudy", "gauge_study"]

Floats = NDArray[np.float64]

POOLED_ABOVE = 0.25  # probability of the interaction by chance; as the manual of the trade has it (AIAG, from memory)


@dataclass(frozen=True)
class GaugeStudy:
    """Sums of squares of parts, people, their interaction and repeats; components of variance (0 where negative), and
    whether the interaction was `pooled` into the repeats."""

    squares: tuple[float, float, float, float]
    part: float
    person: float
    interaction: float
    repeat: float
    pooled: bool

    @property
    def gauge_sd(self) -> float:
        """Standard deviation of one reading of one part by whoever reads it."""
        return float(np.sqrt(self.person + self.interaction + self.repeat))


def gauge_study(readings: Floats) -> GaugeStudy:
    """The study of `readings` (parts, people, trials), complete. Raises ValueError with fewer than two of any."""
    if readings.ndim != 3 or min(readings.shape) < 2 or not np.isfinite(readings).all():
        what = f"found readings of shape {readings.shape}"
        raise ValueError(f"{what}, expected parts x people x trials, two or more of each")
    parts, people, trials = readings.shape
    mean = readings.mean()
    cells, of_part, of_person = readings.mean(axis=2), readings.mean(axis=(1, 2)), readings.mean(axis=(0, 2))
    part = people * trials * float(np.sum((of_part - mean) ** 2))
    person = parts * trials * float(np.sum((of_person - mean) ** 2))
    both = trials * float(np.sum((cells - of_part[:, None] - of_person[None, :] + mean) ** 2))
    repeat = float(np.sum((readings - cells[:, :, None]) ** 2))
    free_both, free_repeat = (parts - 1) * (people - 1), parts * people * (trials - 1)
    mean_both, mean_repeat = both / free_both, repeat / free_repeat
    pooled = float(fisher.sf(mean_both / mean_repeat, free_both, free_repeat)) > POOLED_ABOVE
    if pooled:
        mean_repeat = mean_both = (both + repeat) / (free_both + free_repeat)
    return GaugeStudy(
        (part, person, both, repeat),
        part=max((part / (parts - 1) - mean_both) / (people * trials), 0.0),
        person=max((person / (people - 1) - mean_both) / (parts * trials), 0.0),
        interaction=max((mean_both - mean_repeat) / trials, 0.0),
        repeat=mean_repeat, pooled=pooled,
    )  # fmt: skip
