"""Prior means and the standard deviations ("spreads") of everything the model does not know beforehand.

Spreads are hyperparameters: they start from what the trade and the mechanics say (`structures`) and are re-estimated by
marginal likelihood, each with a few pseudo-observations of its starting value, so that few batches cannot drive one to
zero.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from springfit.learning.basis.spline_rows import spline_rows, walked
from springfit.learning.basis.stress_fields import FIELDS, LAID_FROM
from springfit.learning.features.batch_features import BATCH_FEATURES, LABELS
from springfit.learning.regression.layout import Layout
from springfit.learning.regression.link import MULTIPLIERS, OF_BATCH
from springfit.learning.regression.structures import NEVER, Structure
from springfit.learning.regression.summaries import DATUMS, REMAINDERS

__all__ = ["Prior", "Spreads"]

Floats = NDArray[np.float64]

# [-] how far the mean deviation of a kind of label may stand from zero; an eighth of a label's own spread: their mean
# is the fields' business; assumed
LABEL_MEAN = 0.01
# [mm] 1 sd of the seat of readings that say nothing of it, felt ones among them (`kinds_to_gaps`): as good as no prior,
# for it only adds a ten-thousandth to a precision. `bell_profile.UNTIED_MM` is another number for the same, see there
FREE_SEAT_MM = 100.0
NO_SESSION = 1.0  # sd of a seat that a bell has not: its column is empty, and any number can be inverted


@dataclass(frozen=True)
class Spreads:
    """Standard deviations by name (see `structures.STARTING_SPREADS`): [mm] or [-]."""

    values: Mapping[str, float]

    def __getitem__(self, name: str) -> float:
        return self.values[name]

    def local_variance(self, datum: NDArray[np.intp]) -> Floats:
        """Prior variances of the bells' own unknowns, (bells, local): seats, wall, v, remainder."""
        tied = [self[f"seat_{name}"] if name != "free" else FREE_SEAT_MM for name in DATUMS]
        seats = np.array([*tied, NO_SESSION])
        tail = np.concatenate(
            (
                [self["wall"], self["bell_hoop"], self["bell_along"]],
                np.full(REMAINDERS, self["bell_remainder"]),
            )
        )
        return np.hstack((seats[datum], np.broadcast_to(tail, (len(datum), len(tail))))) ** 2

    def batch_variance(self, layout: Layout, batch: str, theta: Floats) -> Floats:
        """Prior variances (OWN,) of a batch's own unknowns; each blank feature adds what it might have done."""
        return self.new_batch_variance(layout, layout.facts[batch].features, theta)

    def new_batch_variance(self, layout: Layout, features: Floats, theta: Floats) -> Floats:
        """The same for features (features,) with nan where blank."""
        usual = np.array([feature.spread for feature in BATCH_FEATURES])
        blank = np.isnan(features)
        unknown = float(np.sum((theta[layout.slices["effects"]] * usual)[blank] ** 2))
        variance = np.array([self[name] for name in OF_BATCH]) ** 2
        variance[:MULTIPLIERS] += unknown
        return variance


@dataclass(frozen=True)
class Prior:
    """Prior mean (unknowns,) of the shop's unknowns and, given spreads, their precision (unknowns, unknowns)."""

    layout: Layout
    structure: Structure
    mean: Floats

    @classmethod
    def of(cls, layout: Layout, structure: Structure) -> Prior:
        """The prior of a structure before any bell."""
        mean = np.zeros(layout.size)
        for name, (level, _) in structure.level.items():
            mean[list(spline_rows()[name])] = level
        for place, spec in enumerate(FIELDS):
            if spec.name in structure.single:
                mean[place] = structure.single[spec.name][0]
        if structure.shares is not None:
            mean[structure.shares.places] = structure.shares.mean
        mean[layout.slices["rim"]] = 0.5  # the face may be taken at either edge of the wall
        return cls(layout, structure, mean)

    def precision(self, spreads: Spreads) -> Floats:
        """Inverse covariance; rows of splines are random walks about a level, all else is independent."""
        matrix = np.zeros((self.layout.size, self.layout.size))
        fields = slice(0, len(FIELDS))
        matrix[fields, fields] = self.fields_precision
        gauges, by_feature = np.array(self.layout.columns.gauge_spread), spreads["by_feature"] * self.by_feature
        own = {"gauges": gauges, "by_feature": by_feature}
        for name, part in self.layout.slices.items():
            if name == "fields":
                continue
            among = np.arange(part.start, part.stop)
            spread = own[name] if name in own else spreads[name]
            matrix[among, among] = 1.0 / spread**2
            if name == "mandrels":
                matrix[part, part] += _tied(len(among), spread, spreads["mandrel_size"])
            if name in LABELS and len(among):
                # Labels are deviations from the shop: their mean is the fields' business, or both drift together.
                matrix[np.ix_(among, among)] += 1.0 / (len(among) * LABEL_MEAN) ** 2
        return matrix

    @cached_property
    def learned(self) -> NDArray[np.bool_]:
        """Which unknowns (unknowns,) this structure does not hold at nought among those that tell of a batch."""
        asked = np.ones(self.layout.size, dtype=bool)
        asked[self.layout.slices["by_feature"]] = self.by_feature > NEVER
        return asked

    @cached_property
    def fields_precision(self) -> Floats:
        """Inverse covariance (fields, fields) of the columns."""
        matrix = np.zeros((len(FIELDS), len(FIELDS)))
        for name, (_, level) in self.structure.level.items():
            places = spline_rows()[name]
            matrix[np.ix_(places, places)] = walked(len(places), level=level, walk=self.structure.walk[name])
        for place, spec in enumerate(FIELDS):
            if spec.name in self.structure.single:
                matrix[place, place] = 1.0 / self.structure.single[spec.name][1] ** 2
        if (told := self.structure.shares) is not None:
            matrix[np.ix_(told.places, told.places)] = np.linalg.inv(told.covariance)
        return matrix

    @cached_property
    def by_feature(self) -> Floats:
        """1 sd (departures times LAID_FROM,) of what features change of a bell's shape, `NEVER` where nothing is."""
        departures = [self.structure.by_feature.get(name, NEVER) for name in OF_BATCH[MULTIPLIERS:]]
        return np.repeat(departures, len(LAID_FROM))


def _tied(count: int, spread: Floats | float, size: float) -> Floats:
    """What is added to the precision (count, count) of independent remainders of `spread` where those of each mandrel
    move together as well, by `size`: their covariance is spread^2 I + size^2 1 1'."""
    together = np.full((REMAINDERS, REMAINDERS), 1.0 / REMAINDERS)
    less = 1.0 / (spread**2 + REMAINDERS * size**2) - 1.0 / spread**2
    return less * np.kron(np.eye(count // REMAINDERS), together)
