"""One structure as it was learned, and what it says of one bell: mean, and all that it does not know.

The mean is the release of the expected shares, held within what yield allows. Unknown are the shop's coefficients, a
new batch's own unknowns, blanks in the conditions, labels never met, a remainder never seen where the mandrel is new,
and one bell's own. Each is a column of motions of one standard deviation, so that the place of the flare along the axis
and the shape of the bell have their variances by the same sum.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from springfit.learning.basis.stress_basis import StressBasis
from springfit.learning.basis.stress_fields import FIELDS, LAID, LAID_FROM
from springfit.learning.features.batch_features import BATCH_FEATURES, LABELS
from springfit.learning.forecasting.bounds import excess_motion
from springfit.learning.forecasting.unknowns import Unknowns, joined_unknowns
from springfit.learning.regression.layout import BatchFacts, Layout
from springfit.learning.regression.link import MULTIPLIERS, OWN
from springfit.learning.regression.prior_sd import Spreads
from springfit.learning.regression.structures import STRUCTURES
from springfit.learning.regression.summaries import REMAINDERS, remainder_columns

__all__ = ["FLARE_PART", "Expected", "FittedStructure", "Told", "place_row"]

Floats = NDArray[np.float64]

# 1 sd of the meridional share of flow stress locked in the drawn tail. It shortens the tail, so it moves the flare
# along the axis, and a seat nobody knows hides that from all but a few readings: records hardly tell it, however many
# there are, so the band does not close on it. What holds a pull in a tube that is free at its end is friction under its
# own grip: from nought there it grows to mu k_h L/r, half of that on the mean. Greased brass on steel has mu 0.1, its
# tail L/r 12 (common practice, no source), its hoop share k_h is 0.03 +- 0.05, so up to 0.08: 0.1 x 0.08 x 12 / 2.
TAIL_PULL = 0.05
TAIL_FIELD = [field.name for field in FIELDS].index("meridional_drawn")


FLARE_PART = 0.6  # of the arc: the flare, by which the place is taken, is what lies beyond; assumed


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


@dataclass(frozen=True)
class Expected:
    """What one structure says of one bell, and by what it may be off: `shape` (a row a station) and `place` (one row)
    moved by the same unknowns [mm]. `told` is their sum."""

    told: Told
    sine: Floats
    shape: Unknowns
    place: Unknowns


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
        return self.expected(layout, facts, basis, length).told

    def expected(self, layout: Layout, facts: BatchFacts, basis: StressBasis, length: float) -> Expected:
        """The same with all that it does not know, unknown by unknown."""
        columns = np.hstack((basis.normal, remainder_columns(basis.arc, basis.slope, length)))
        used = columns.shape[1]
        k, own, unknown = self.of_batch(layout, facts)
        past, past_axial = excess_motion(basis, k[: len(FIELDS)])
        gap, batch = columns @ k[:used] - past, columns @ own[:used]
        moves = columns @ unknown.moves[:used]
        sine = np.sin(basis.slope)
        row = place_row(np.where(basis.arc > FLARE_PART * basis.arc[-1], sine, 0.0))
        position, moved = float(row @ gap), row @ moves
        shape = Unknowns(unknown.names, moves + np.outer(sine, moved))
        place = Unknowns(unknown.names, moved[None])
        told = Told(
            shape=gap + position * sine,
            place=position,
            axial=basis.axial @ k[: len(FIELDS)] - past_axial,
            shape_variance=shape.variance,
            place_variance=float(place.variance[0]),
            bell_variance=(self._of_bell(columns, batch) ** 2).sum(axis=1),
        )
        return Expected(told, sine, shape, place)

    def remainder(self, layout: Layout, mandrel_id: str, columns: Floats) -> tuple[Floats, Floats]:
        """Mean and variance (n,) of what bells of a mandrel showed beyond the shell; `columns` (n, REMAINDERS)."""
        start = layout.slices["mandrels"].start + REMAINDERS * layout.mandrels.index(mandrel_id)
        part = slice(start, start + REMAINDERS)
        return columns @ self.mean[part], np.einsum("ij,jk,ik->i", columns, self.covariance[part, part], columns)

    @cached_property
    def _root(self) -> Floats:
        """A square root of the covariance, (unknowns, unknowns): independent unknowns of one sd each."""
        values, vectors = np.linalg.eigh(self.covariance)
        return np.asarray(vectors * np.sqrt(np.clip(values, 0.0, None)))

    def of_batch(self, layout: Layout, facts: BatchFacts) -> tuple[Floats, Floats, Unknowns]:
        """Of a batch not learned: its expected coefficients (shared,), how its own unknowns move them (shared, OWN),
        and what is not known of them (shared, m). What two bells of one sheet, spun otherwise, have in common has one
        name: the shop, what its batch has of its own, and blanks of both, which were the same whatever they were."""
        k, jacobian, own = layout.linearised_at(facts, self.mean, np.zeros(OWN), STRUCTURES[self.name].link)
        new = own * np.sqrt(self.spreads.new_batch_variance(layout, facts.features, self.mean))
        pull = np.zeros((len(k), 1))
        pull[TAIL_FIELD] = TAIL_PULL
        return k, own, joined_unknowns(
            _numbered(("shop",), jacobian @ self._root),
            _numbered(("batch", *_sheet(facts)), new),
            Unknowns((("pull",),), pull),
            self._labels(layout, facts, own[:, :MULTIPLIERS].sum(axis=1)),
            self._blanks(layout, facts, own[:, :MULTIPLIERS].sum(axis=1)),
            self._new_steel(layout, facts, len(k)),
        )  # fmt: skip

    def _labels(self, layout: Layout, facts: BatchFacts, sized: Floats) -> Unknowns:
        """Labels that are blank or were never met; `sized` (shared,): of one log multiplier."""
        unmet = [
            (kind, label) for kind, levels, label in zip(LABELS, layout.levels, facts.labels, strict=True)
            if label not in levels
        ]  # fmt: skip
        sd = np.array([self.spreads[kind] for kind, _ in unmet])
        return Unknowns(tuple(("label", *one) for one in unmet), np.outer(sized, sd))

    def _blanks(self, layout: Layout, facts: BatchFacts, sized: Floats) -> Unknowns:
        """Blank features: what they may do to the log multiplier for all that their effects are not known, and what
        laying took as usual because the record is blank. Other sheet, hands or tools give another springback, by about
        as much of it as the blank feature ranges in its own unit."""
        blank = np.flatnonzero(np.isnan(facts.features))
        sd = np.sqrt(np.maximum(np.diag(self.covariance)[layout.slices["effects"]], 0.0))  # nought may round below it
        usual = np.array([feature.spread for feature in BATCH_FEATURES])
        met = np.array([one.features for one in layout.facts.values()]).reshape(-1, len(usual))
        furthest = np.max(np.abs(np.nan_to_num(met)), axis=0, initial=0.0)  # it may have been any that was recorded
        effect = np.outer(sized, (np.maximum(usual, furthest) * sd)[blank])
        laid = np.zeros(layout.columns.shared)
        laid[LAID] = self.mean[layout.slices["fields"]][LAID]
        taken = usual * [feature.name in LAID_FROM for feature in BATCH_FEATURES]
        return joined_unknowns(
            Unknowns(tuple(("effect", int(one)) for one in blank), effect),
            Unknowns(tuple(("blank", int(one)) for one in blank), np.outer(laid, taken[blank])),
        )

    def _new_steel(self, layout: Layout, facts: BatchFacts, shared: int) -> Unknowns:
        """The remainder of a mandrel never met: none for one that was."""
        if facts.mandrel_id in layout.mandrels:
            return Unknowns((), np.zeros((shared, 0)))
        moves = np.zeros((shared, REMAINDERS + 1))
        places = slice(len(FIELDS), len(FIELDS) + REMAINDERS)
        moves[places, :-1] = self.spreads["mandrels"] * np.eye(REMAINDERS)
        moves[places, -1] = self.spreads["mandrel_size"]
        return _numbered(("steel",), moves)

    def _of_bell(self, columns: Floats, batch: Floats) -> Floats:
        spread = np.array([self.spreads["bell_hoop"], self.spreads["bell_along"]])
        return np.hstack((batch[:, :MULTIPLIERS] * spread, self.spreads["bell_remainder"] * columns[:, len(FIELDS) :]))


def _sheet(facts: BatchFacts) -> tuple[Hashable, ...]:
    """What tells the sheet of one batch from that of another: by its alloy, lot, temper and wall; blanks are alike."""
    labels = (label for kind, label in zip(LABELS, facts.labels, strict=True) if kind in ("alloy", "lot"))
    features = (
        None if np.isnan(value) else float(value)
        for feature, value in zip(BATCH_FEATURES, facts.features, strict=True) if feature.name in ("temper", "wall")
    )  # fmt: skip
    return (*labels, *features)


def _numbered(kind: tuple[Hashable, ...], moves: Floats) -> Unknowns:
    """Unknowns of one kind, told apart by their number."""
    return Unknowns(tuple((*kind, number) for number in range(moves.shape[1])), moves)
