"""A shop with one basis field that reads 1 everywhere: then the hierarchy is the random-effects model of the textbooks.

A batch's coefficient is beta m(u), m(u) = exp(u) where u is small, a bell's times (1 + v). Readings are mapped to
1 + scale (y - middle), with so small a scale that the solve settles in its first round, on the line through beta = 1,
u = v = 0: there beta + u + v, batch effects and bell effects added. Everything else the model knows (seats, wall,
remainder, labels ...) is switched off by its spread or not touched by any reading. The prior of beta is flat: the
evidence is the restricted likelihood.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

from springfit.learning.basis.stress_fields import FIELDS
from springfit.learning.features.batch_features import BATCH_FEATURES, LABELS
from springfit.learning.regression.hierarchy import solve
from springfit.learning.regression.layout import BatchFacts, Layout
from springfit.learning.regression.link import OF_BATCH
from springfit.learning.regression.posterior import Posterior
from springfit.learning.regression.prior_sd import Prior, Spreads
from springfit.learning.regression.structures import STRUCTURES
from springfit.learning.regression.summaries import SEATS, Columns, Summaries

LARGEST = 1e-3  # departure of any batch from beta, as a share of it: half of what ends the rounds
FIELD = [field.name for field in FIELDS].index("hoop_edge")
FLAT = 1e-9  # precision of beta in units of the data
FREE = STRUCTURES["free"]
NONE = 1e-12  # spread of what is switched off
_OFF = dict.fromkeys(("bell_along", "bell_remainder", "wall", *OF_BATCH[1:]), NONE)  # a batch is its hoop alone


@dataclass(frozen=True)
class FlatPrior(Prior):
    """The model's own prior but for a flat one on the field in use, about 1."""

    scale: float = 1.0

    def precision(self, spreads: Spreads) -> np.ndarray:
        """Inverse covariance, with the field's own entry next to nothing."""
        matrix = super().precision(spreads)
        matrix[FIELD, :] = matrix[:, FIELD] = 0.0
        matrix[FIELD, FIELD] = FLAT / self.scale**2
        return matrix


@dataclass(frozen=True)
class OneFieldShop:
    """Readings by batch and bell: `cells` maps a batch to its bells, each (count, mean, sum of squares about it)."""

    cells: Mapping[str, Sequence[tuple[int, float, float]]]

    @classmethod
    def of_readings(cls, readings: Mapping[str, Sequence[Sequence[float]]]) -> OneFieldShop:
        """From the readings of every bell of every batch."""
        return cls(
            {
                batch: [(len(b), float(np.mean(b)), float(np.var(b) * len(b))) for b in bells]
                for batch, bells in readings.items()
            }
        )

    @property
    def count(self) -> int:
        """Count of readings."""
        return sum(n for bells in self.cells.values() for n, _, _ in bells)

    @property
    def middle(self) -> float:
        """Mean of all readings."""
        return sum(n * mean for bells in self.cells.values() for n, mean, _ in bells) / self.count

    @property
    def scale(self) -> float:
        """Of a unit of the data, as a share of beta."""
        means = [mean for bells in self.cells.values() for _, mean, _ in bells]
        return LARGEST / max(abs(mean - self.middle) for mean in means)

    def posterior(self, *, batch: float, bell: float, reading: float) -> Posterior:
        """The hierarchy's own posterior at standard deviations of batches, bells and readings, in units of the data."""
        return self.fitted(batch=batch, bell=bell, reading=reading)[-1]

    def fitted(
        self, *, batch: float, bell: float, reading: float
    ) -> tuple[Summaries, Layout, Prior, Spreads, Posterior]:
        """All that the model's estimation of its spreads asks for, at given standard deviations."""
        columns = Columns((), ())
        facts = {
            name: BatchFacts("m", np.zeros(len(BATCH_FEATURES)), (None,) * len(LABELS)) for name in self.cells
        }
        layout = Layout(columns, facts, ("m",), ((),) * len(LABELS))
        own = {"batch_hoop": max(batch * self.scale, NONE), "bell_hoop": max(bell * self.scale, NONE)}
        start = np.zeros(layout.size)
        start[FIELD] = 1.0
        spreads = Spreads({**FREE.start, **_OFF, **own})
        prior = FlatPrior(layout, FREE, start, self.scale)
        summaries = self._summaries(columns, reading)
        return summaries, layout, prior, spreads, solve(summaries, layout, prior, spreads)

    def deviance(self, *, batch: float, bell: float, reading: float) -> float:
        """-2 log restricted likelihood in units of the data, (n - 1) log 2 pi included."""
        evidence = self.posterior(batch=batch, bell=bell, reading=reading).log_evidence
        noise = 2 * self.count * np.log(reading)
        return float(-2 * evidence + noise + np.log(FLAT) + (self.count - 1) * np.log(2 * np.pi))

    def components(self, *, nested: bool) -> dict[str, float]:
        """Standard deviations of batch, bell (0 unless `nested`) and reading that make the evidence largest."""
        names = ("batch", "bell", "reading") if nested else ("batch", "reading")
        total = float(np.std([mean for bells in self.cells.values() for _, mean, _ in bells]))
        # A search begun at the spread of readings about their own bell takes half the steps.
        rest = sum(square for bells in self.cells.values() for _, _, square in bells)
        within = float(np.sqrt(rest / (self.count - sum(map(len, self.cells.values())))))

        def lost(logs: np.ndarray) -> float:
            return self.deviance(**{"bell": 0.0, **dict(zip(names, np.exp(logs), strict=True))})

        best = minimize(
            lost, np.log([total if name == "batch" else within for name in names]), method="Nelder-Mead",
            bounds=[(np.log(1e-4 * total), np.log(10 * total))] * len(names),
            options={"xatol": 1e-5, "fatol": 1e-7},
        )  # fmt: skip
        return {"bell": 0.0, **dict(zip(names, map(float, np.exp(best.x)), strict=True))}

    def mean(self, posterior: Posterior) -> tuple[float, float]:
        """Posterior mean and sd of the overall mean, in units of the data."""
        sd = float(np.sqrt(posterior.covariance[FIELD, FIELD])) / self.scale
        return self.middle + (float(posterior.mean[FIELD]) - 1.0) / self.scale, sd

    def batch_effects(self, posterior: Posterior) -> dict[str, float]:
        """Best linear unbiased predictions of the batches' departures, in units of the data."""
        return {name: float(part.u[0]) / self.scale for name, part in posterior.batches.items()}

    def _summaries(self, columns: Columns, reading: float) -> Summaries:
        gram, moment, square, ids = [], [], [], []
        weight = 1.0 / (reading * self.scale) ** 2
        for name, bells in self.cells.items():
            for n, mean, rest in bells:
                level = 1.0 + self.scale * (mean - self.middle)
                one = np.zeros(columns.all)
                one[FIELD] = 1.0
                gram.append(weight * n * np.outer(one, one))
                moment.append(weight * n * level * one)
                square.append(weight * (n * level**2 + self.scale**2 * rest))
                ids.append(name)
        return Summaries(
            columns, tuple(f"{name}-{i}" for i, name in enumerate(ids)), tuple(ids), np.array(gram), np.array(moment),
            np.array(square), np.ones(len(ids)), np.full((len(ids), SEATS), -1),
        )  # fmt: skip
