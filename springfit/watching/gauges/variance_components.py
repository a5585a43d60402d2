"""Components of variance by restricted maximum likelihood: how much of a spread comes from where.

    y = mu + sum_j Z_j u_j + e,   u_j ~ N(0, s_j^2),   -2 log REML = log|V| + log|1'V^-1 1| + r'V^-1 r + const

Nested and crossed alike (Patterson & Thompson 1971, Biometrika 58, 545-554). Bands are of the profile likelihood: all
sizes of one component that the data bear at the level asked, the others as they then suit best.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize
from scipy.stats import chi2

from springfit.normal_errors import BAND_LEVEL

__all__ = ["RESIDUAL", "Component", "Components", "variance_components"]

Floats = NDArray[np.float64]

RESIDUAL = "residual"
SMALLEST, LARGEST = -9.0, 6.0  # log of an sd over the sd of all values: below it is nothing, above no data reach
CLOSE = 0.01  # of the log of a band's end: it is told to two digits
HARDLY = -4.5  # of a log: a hundredth of the spread of all values, which is as good as none
STRIDE = 0.5  # of the log with which an end of a band is first looked for, only a beginning
# Relative change of the criterion, some hundreds, at which the search stops: far below the 2.7 by which a band ends
TOGETHER = 1e-10
NEARLY = 1e-6  # the same while a band's end is looked for, which a few thousandths of the criterion do not move


@dataclass(frozen=True)
class Component:
    """One source: `sd` in the unit of the values with the band `low` to `high`, and how many `levels` it had."""

    name: str
    sd: float
    low: float
    high: float
    levels: int


@dataclass(frozen=True)
class Components:
    """The sources in the order given, the residual last; `mean` with its sd, and `criterion`, -2 log REML."""

    mean: float
    mean_sd: float
    components: tuple[Component, ...]
    criterion: float

    def sd(self, name: str) -> float:
        """The standard deviation of one source."""
        return next(one.sd for one in self.components if one.name == name)


def variance_components(
    values: Sequence[float] | Floats, groups: Mapping[str, Sequence[object]], *, level: float | None = BAND_LEVEL
) -> Components:
    """Components of `values` (n,) by `groups`: by name of a source the label of each value; nested labels must differ
    between what they nest in. level: of the bands, None for none (then nan).

    Raises ValueError for fewer than three values, or labels of another length.
    """
    problem = _Problem.of(np.asarray(values, dtype=float), groups)
    best = problem.fitted({})
    mean, mean_sd = problem.mean(best)
    found = []
    for place, (name, count) in enumerate(problem.levels):
        sd = float(np.exp(best[place])) * problem.scale
        low, high = (float("nan"),) * 2 if level is None else problem.band(best, place, level)
        found.append(Component(name, 0.0 if best[place] <= SMALLEST + 0.5 else sd, low, high, count))
    return Components(mean, mean_sd, tuple(found), problem.criterion(best) + 2.0 * problem.shift)


@dataclass(frozen=True)
class _Problem:
    """Values scaled to a standard deviation of one, and what each source has in common (n, n)."""

    values: Floats
    scale: float
    middle: float
    common: tuple[Floats, ...]
    levels: tuple[tuple[str, int], ...]

    @classmethod
    def of(cls, values: Floats, groups: Mapping[str, Sequence[object]]) -> _Problem:
        if values.size < 3:
            raise ValueError(f"found {values.size} values, expected at least 3")
        common, levels = [], []
        for name, labels in groups.items():
            if len(labels) != values.size:
                raise ValueError(f"{name}: found {len(labels)} labels for {values.size} values")
            words = np.array([str(label) for label in labels])
            common.append((words[:, None] == words[None, :]).astype(float))
            levels.append((name, len(set(words))))
        scale = float(values.std(ddof=1)) or 1.0
        common.append(np.eye(values.size))
        levels.append((RESIDUAL, values.size))
        return cls((values - values.mean()) / scale, scale, float(values.mean()), tuple(common), tuple(levels))

    @property
    def shift(self) -> float:
        """Of the log criterion, by the scale of the values."""
        return (self.values.size - 1) * float(np.log(self.scale))

    def _parts(self, logs: Floats) -> tuple[Floats, float, float, float]:
        covariance = sum(np.exp(2.0 * one) * part for one, part in zip(logs, self.common, strict=True))
        lower = np.linalg.cholesky(np.asarray(covariance))
        ones, rest = (np.linalg.solve(lower, v) for v in (np.ones(self.values.size), self.values))
        information = float(ones @ ones)
        mean = float(ones @ rest) / information
        square = float(np.sum((rest - mean * ones) ** 2))
        return lower, information, mean, square

    def criterion(self, logs: Floats) -> float:
        """-2 log restricted likelihood, of the scaled values."""
        lower, information, _, square = self._parts(logs)
        count = self.values.size - 1
        return float(2.0 * np.sum(np.log(np.diag(lower))) + np.log(information) + square + count * np.log(2.0 * np.pi))

    def with_slopes(self, logs: Floats) -> tuple[float, Floats]:
        """The criterion and its slopes by each log, (components,): 2 s^2 [tr(P C) - r'P C P r], P = V^-1 - V^-1 1
        1'V^-1 / 1'V^-1 1 (Searle, Casella & McCulloch, Variance Components, 1992, section 6.6)."""
        covariance = np.asarray(sum(np.exp(2.0 * one) * part for one, part in zip(logs, self.common, strict=True)))
        inverse, volume = np.linalg.inv(covariance), float(np.linalg.slogdet(covariance)[1])
        ones = inverse.sum(axis=1)
        information = float(ones.sum())
        about = inverse - np.outer(ones, ones) / information
        pull = about @ self.values
        found = [np.sum(about * part) - pull @ part @ pull for part in self.common]
        count = self.values.size - 1
        least = volume + np.log(information) + float(self.values @ pull) + count * np.log(2.0 * np.pi)
        return float(least), np.asarray(2.0 * np.exp(2.0 * logs) * np.array(found), dtype=np.float64)

    def mean(self, logs: Floats) -> tuple[float, float]:
        """Mean and its standard deviation, in the unit of the values."""
        _, information, mean, _ = self._parts(logs)
        return self.middle + self.scale * mean, self.scale * information**-0.5

    def fitted(self, held: Mapping[int, float], begin: Floats | None = None, *, together: float = TOGETHER) -> Floats:
        """Logs of the sds at which the criterion is least, those of `held` kept where they are. together: relative
        change of the criterion at which the search stops."""
        free = [place for place in range(len(self.common)) if place not in held]
        logs = np.full(len(self.common), -0.5) if begin is None else begin.copy()
        for place, value in held.items():
            logs[place] = value
        if not free:
            return logs

        def of(values: Floats) -> tuple[float, Floats]:
            trial = logs.copy()
            trial[free] = values
            least, slopes = self.with_slopes(trial)
            return least, slopes[free]

        starts = [logs[free], np.full(len(free), -1.5)] if begin is None else [logs[free]]
        done = min(
            (minimize(of, np.clip(s, SMALLEST, LARGEST), jac=True, method="L-BFGS-B",
                      bounds=[(SMALLEST, LARGEST)] * len(free),
                      options={"ftol": together, "gtol": 1e-7}) for s in starts),
            key=lambda one: float(one.fun),
        )  # fmt: skip
        logs[free] = done.x
        return logs

    def band(self, best: Floats, place: int, level: float) -> tuple[float, float]:
        """Low and high of one sd by its profile likelihood, in the unit of the values."""
        least, room = self.criterion(best), float(chi2.ppf(level, 1))

        def beyond(value: float) -> float:
            return self.criterion(self.fitted({place: value}, best, together=NEARLY)) - least - room

        middle = float(np.clip(best[place], SMALLEST, LARGEST))
        low, high = (_end(beyond, middle, side) for side in (-1.0, 1.0))
        return low * self.scale, high * self.scale


def _end(beyond: Callable[[float], float], middle: float, side: float) -> float:
    """The sd, in scaled values, where `beyond` of its log becomes positive below or above `middle`; 0 or infinity where
    it does not."""
    last = SMALLEST if side < 0 else LARGEST
    near, step = (max(middle, HARDLY) if side > 0 else middle), STRIDE
    if side < 0 and (middle <= HARDLY or beyond(HARDLY) < 0.0):
        return 0.0
    while beyond(near + side * step) < 0.0:
        near, step = near + side * step, 2.0 * step
        if (near + side * step - last) * side >= 0.0:
            return 0.0 if side < 0 else float("inf")
    return float(np.exp(brentq(beyond, near, near + side * step, xtol=CLOSE)))
