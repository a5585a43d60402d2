"""One structure as it was learned, and what it says of one bell: mean, and all that it does not know.

The mean is the release of the expected shares, held within what yield allows. Unknown are the shop's coefficients, a
new batch's own unknowns, blanks in the conditions, labels never met, a remainder never seen where the mandrel is new,
and one bell's own. Each is a column of motions of one standard deviation, so that the place of the flare along the axis
and the shape of the bell have their variances by the same sum.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from springfit.learning.basis.stress_basis import StressBasis
from springfit.learning.basis.stress_fields import FIELDS, LAID, LAID_FROM
from springfit.learning.features.batch_features import BATCH_FEATURES
from springfit.learning.forecasting.bounds import excess_motion
from springfit.learning.regression.layout import BatchFacts, Layout
from springfit.learning.regression.link import MULTIPLIERS, OWN
from springfit.learning.regression.prior_sd import Spreads
from springfit.learning.regression.structures import STRUCTURES
from springfit.learning.regression.summaries import REMAINDERS, remainder_columns

__all__ = ["FLARE_PART", "FittedStructure", "Told", "place_row"]

Floats = NDArray[np.float64]

# 1 sd of the meridional share of flow stress locked in the drawn tail. It shortens the tail, so it moves the flare
# along the axis, and a seat nobody knows hides that from all but a few readings: records hardly tell it, however many
# there are, so the band does not close on it. Laying shows such a pull, of up to a few tenths.
TAIL_PULL = 0.08
TAIL_FIELD = [field.name for field in FIELDS].index("meridional_drawn")


FLARE_PART = 0.6  # of the arc: the flare, by which the place is taken, is what lies beyond


@dataclass(frozen=True)
class Told:
    """What one structure, or a mixture of them, says of one bell at its stations (n,) [mm, mm^2]: `place` of the flare
    along the axis, + toward the rim, `shape` of the gap with that taken out, and `axial` motion, each of a new batch's
    mean; variances of place and shape, and `bell_variance` (n,) of one bell's gap about its batch's."""

    shape: Floats
    place: float
    axial: Floats
    shape_variance: Floats
    place_variance: float
    bell_variance: Floats


def place_row(sine: Floats) -> Floats:
    """Row (n,) that takes an axial place from a gap: the slide that explains it best, by least squares, gap = -slide
    sin(slope). `sine` (n,) of the slope, 0 where the gap is not to count."""
    return -sine / float(sine @ sine)


@dataclass(frozen=True)
class FittedStructure:
    """A structure by `name`: its `spreads`, and `mean` and `covariance` of the unknowns of the model's layout."""

    name: str
    spreads: Spreads
    mean: Floats
    covariance: Floats

    def told(self, layout: Layout, facts: BatchFacts, basis: StressBasis, length: float) -> Told:
        """What it says of a bell of these facts on `basis`, on steel `length` [mm] of arc long."""
        columns = np.hstack((basis.normal, remainder_columns(basis.arc, basis.slope, length)))
        used = columns.shape[1]
        k, own, unknown = self.of_batch(layout, facts)
        past, past_axial = excess_motion(basis, k[: len(FIELDS)])
        gap, batch = columns @ k[:used] - past, columns @ own[:used]
        unknown = columns @ unknown[:used]
        sine = np.sin(basis.slope)
        row = place_row(np.where(basis.arc > FLARE_PART * basis.arc[-1], sine, 0.0))
        place, moved = float(row @ gap), row @ unknown
        return Told(
            shape=gap + place * sine,
            place=place,
            axial=basis.axial @ k[: len(FIELDS)] - past_axial,
            shape_variance=((unknown + np.outer(sine, moved)) ** 2).sum(axis=1),
            place_variance=float(moved @ moved),
            bell_variance=(self._of_bell(columns, batch) ** 2).sum(axis=1),
        )

    def remainder(self, layout: Layout, mandrel_id: str, columns: Floats) -> tuple[Floats, Floats]:
        """Mean and variance (n,) of what bells of a mandrel showed beyond the shell; `columns` (n, REMAINDERS)."""
        start = layout.slices["mandrels"].start + REMAINDERS * layout.mandrels.index(mandrel_id)
        part = slice(start, start + REMAINDERS)
        return columns @ self.mean[part], np.einsum("ij,jk,ik->i", columns, self.covariance[part, part], columns)

    def of_batch(self, layout: Layout, facts: BatchFacts) -> tuple[Floats, Floats, Floats]:
        """Of a batch not learned: its expected coefficients (shared,), how its own unknowns move them (shared, OWN),
        and what is not known of them (shared, unknowns), a column of one standard deviation each."""
        k, turn, own = layout.linearised_at(facts, self.mean, np.zeros(OWN), STRUCTURES[self.name].link)
        values, vectors = np.linalg.eigh(self.covariance)
        known = turn @ (vectors * np.sqrt(np.clip(values, 0.0, None)))
        new = own * np.sqrt(self.spreads.new_batch_variance(layout, facts.features, self.mean))
        sized = own[:, :MULTIPLIERS].sum(axis=1)
        label = sized * np.sqrt(self.spreads.unmet_label_variance(layout, facts))
        effect = sized * self._unsure_effect(layout, facts)
        pull = np.zeros_like(k)
        pull[TAIL_FIELD] = TAIL_PULL
        parts = [known, new, *(one[:, None] for one in (label, pull, effect, self._blank(layout, facts)))]
        if facts.mandrel_id not in layout.mandrels:
            places = slice(len(FIELDS), len(FIELDS) + REMAINDERS)
            remainder, size = np.zeros((len(k), REMAINDERS)), np.zeros((len(k), 1))
            remainder[places] = self.spreads["mandrels"] * np.eye(REMAINDERS)
            size[places] = self.spreads["mandrel_size"]
            parts += [remainder, size]
        return k, own, np.hstack(parts)

    def _unsure_effect(self, layout: Layout, facts: BatchFacts) -> float:
        """Of the log multiplier: what blank features may do for all that their effects are not known."""
        blank = np.isnan(facts.features)
        variance = np.diag(self.covariance)[layout.slices["effects"]]
        usual = np.array([feature.spread for feature in BATCH_FEATURES])
        met = np.array([one.features for one in layout.facts.values()]).reshape(-1, len(usual))
        furthest = np.max(np.abs(np.nan_to_num(met)), axis=0, initial=0.0)  # it may have been any that was recorded
        return float(np.sqrt(np.sum((np.maximum(usual, furthest) ** 2 * variance)[blank])))

    def _blank(self, layout: Layout, facts: BatchFacts) -> Floats:
        """One sd of the coefficients (shared,) by what laying took as usual because the record is blank: other sheet,
        hands or tools give another springback, by about as much of it as the blank feature ranges in its own unit."""
        usual = np.array([feature.spread * (feature.name in LAID_FROM) for feature in BATCH_FEATURES])
        laid = np.zeros(layout.columns.shared)
        laid[LAID] = self.mean[layout.slices["fields"]][LAID]
        return laid * float(np.sqrt(np.sum(usual[np.isnan(facts.features)] ** 2)))

    def _of_bell(self, columns: Floats, batch: Floats) -> Floats:
        spread = np.array([self.spreads["bell_hoop"], self.spreads["bell_along"]])
        return np.hstack((batch[:, :MULTIPLIERS] * spread, self.spreads["bell_remainder"] * columns[:, len(FIELDS) :]))
